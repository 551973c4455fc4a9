"""The allocation against the bare solver on the same components: a large problem and an ordinary season."""

from __future__ import annotations

import resource
import time

import numpy as np

from nursery.planning.allocation import Holdings, Needs, Pairs, Problem, allocate

SEED = 20261125
LARGE = {"species": 100, "lots": 5_000, "lines": 2_000, "density": 0.10}
ORDINARY = {"species": 30, "lots": 200, "lines": 150, "density": 0.30}


def run() -> None:
    """Print times, ratios and memory."""
    ordinary, large = _problem(**ORDINARY), _problem(**LARGE)
    allocate(_problem(species=2, lots=4, lines=4, density=1.0))  # what is imported once is no season's time
    _time("ordinary season", ORDINARY, ordinary, workers=None)
    _time("large", LARGE, large, workers=None)
    # One worker: the time spent outside the solver hides behind no other one's.
    _time("large", LARGE, large, workers=1)


def _time(name: str, size: dict[str, float], problem: Problem, *, workers: int | None) -> None:
    seconds = 60.0 if workers is None else 600.0
    cpu = time.process_time()
    found = allocate(problem, seconds=seconds, workers=workers)
    cpu = time.process_time() - cpu
    filled = float(found.plants.sum() / problem.needs.plants.sum())
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    ratio = "" if workers is None else f", {found.seconds / found.solver_seconds:.2f} × the bare solver"
    print(
        f"allocation, {name}: {size['lots']} lots × {size['lines']} targets, {size['species']} species, "
        f"{len(problem.pairs)} pairs in {len(found.gap)} parts, workers {workers or 'as many as processors'}: "
        f"{found.seconds:.1f} s, in the solver {found.solver_seconds:.1f} s{ratio}, processor {cpu:.1f} s, "
        f"largest gap {found.gap.max():.2%}, needs filled {filled:.1%}, peak memory {peak:.0f} MB"
    )


def _problem(*, species: int, lots: int, lines: int, density: float) -> Problem:
    """Lots and targets of several species; a tenth or so of the lots of a species may serve each of its targets.

    Three in ten targets ask for composite shares, three populations, caps and 30 effective mothers.
    """
    rng = np.random.default_rng(SEED)
    meet = rng.integers(0, species, lines)[:, None] == rng.integers(0, species, lots)
    line, lot = np.nonzero(meet & (rng.random((lines, lots)) < density))
    count = line.size
    need = rng.integers(50, 3_000, lines).astype(float)
    mixed = rng.random(lines) < 0.3
    shares = np.full((lines, 4), np.nan)
    shares[mixed] = [0.6, 0.3, 0.1, 0.0]
    mothers = rng.integers(3, 60, lots).astype(float)
    return Problem(
        Needs(
            plants=need,
            turn=rng.integers(1, 4, lines) * 10_000 + rng.integers(2026, 2029, lines),
            shares=shares,
            tolerance=np.full(lines, 0.05),
            least_populations=np.where(mixed, 3, 1),
            population_cap=np.where(mixed, 0.5, np.nan),
            family_cap=np.where(mixed, 0.1, np.nan),
            least_mothers=np.where(mixed, 30.0, np.nan),
        ),
        Holdings(
            seeds=rng.integers(100, 80_000, lots).astype(float),
            population=rng.integers(0, lots // 3 + 1, lots),
            effective_mothers=mothers,
            largest_family=1 / mothers,
            kin=np.arange(lots),
        ),
        Pairs(
            line=line,
            lot=lot,
            plants_per_seed=rng.uniform(0.2, 0.8, count),
            least=np.minimum(40.0, need[line] * 0.1),
            source=rng.integers(0, 3, count),
            cautions=rng.integers(0, 3, count),
            perishable=rng.random(count) < 0.2,
            distance_m=rng.uniform(0, 1e5, count),
            pinned=np.zeros(count),
            before=np.zeros(count),
            fixed=np.zeros(count, np.bool_),
        ),
    )

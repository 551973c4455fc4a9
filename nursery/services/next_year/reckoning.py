"""Plan lines as the arrays that `planning.again` works on, with the rates of the plan or with today's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.planning.again import Asked, Sown, StageRates
from nursery.planning.plan_inputs import RATES
from nursery.services.next_year.lines import SURVIVAL, SeasonLine

#: No germination counts as less, as in `plan_yields`.
LEAST = 0.001


def sown_of(lines: Sequence[SeasonLine]) -> Sown:
    """What the plan had sown."""
    return Sown(_methods(lines), *(_whole(lines, name) for name in ("seeds", "cells_sown", "seeds_per_cell")))


def asked_of(lines: Sequence[SeasonLine]) -> Asked:
    """What the lines want and how they are grown."""
    return Asked(
        plants=np.array([line.wanted if line.survival_year else line.plants_to_plant for line in lines], float),
        method=_methods(lines),
        assurance=np.array([line.assurance for line in lines]),
        seeds_per_cell=np.array([line.seeds_per_cell if line.is_pinned else 0 for line in lines], np.int64),
        usual=np.array([line.rates.usual for line in lines], np.int64),
        cells_per_tray=_whole(lines, "cells_per_tray"),
        spare_trays=_whole(lines, "spare_trays"),
        tested=np.array([line.is_tested for line in lines], np.bool_),
    )


def planned_rates(lines: Sequence[SeasonLine]) -> StageRates:
    """As the plan was frozen with; germination is that of the seed that was sown."""
    mean = {name: np.array([line.rates.mean[name] for line in lines]) for name in RATES}
    mean["germination"] = np.clip([line.germination for line in lines], LEAST, 1.0)
    mean["reference"] = np.clip([line.reference for line in lines], LEAST, 1.0)
    mean["field_survival"] = _survival([(line, line.rates.mean) for line in lines])
    return StageRates(mean, {name: np.array([line.rates.weight[name] for line in lines]) for name in RATES})


def rates_today(lines: Sequence[SeasonLine], entries: Mapping[int, SpeciesEntry]) -> StageRates:
    """As the next plan takes them; the same seed, so that what its own test says of it stays."""
    found = [(line, mean_today(line, entries)) for line in lines]
    mean = {name: np.array([rates[name] for _line, rates in found]) for name in RATES}
    germination = [rates["germination"] for _line, rates in found]
    mean["germination"] = germination_with(lines, germination)
    mean["reference"] = germination_with(lines, germination, of="reference")
    mean["field_survival"] = _survival(found)
    weight = {
        name: np.array([_weight_today(line, entries, name) for line in lines]) for name in RATES
    }  # fmt: skip
    return StageRates(mean, weight)


def germination_with(
    lines: Sequence[SeasonLine], rates: Sequence[float], *, of: str = "germination"
) -> np.ndarray:
    """Germination of the seed sown (or the reference) under another rate: untested seed stands to it as it stood
    to the plan's."""
    clipped: np.ndarray = np.clip(
        [
            getattr(line, of) * (1.0 if line.is_tested else rate / max(line.rates.mean["germination"], LEAST))
            for line, rate in zip(lines, rates, strict=True)
        ],
        LEAST,
        1.0,
    )
    return clipped


def mean_today(line: SeasonLine, entries: Mapping[int, SpeciesEntry]) -> Mapping[str, float]:
    """Rates in force of a line's protocol; the frozen ones for what has left the catalogue."""
    entry = entries.get(line.species_id)
    if entry is None:
        return line.rates.mean
    protocol = entry.protocol_for(line.protocol, line.method)
    return {name: protocol.rates[name].mean for name in (*RATES, *SURVIVAL)}


def _weight_today(line: SeasonLine, entries: Mapping[int, SpeciesEntry], name: str) -> float:
    entry = entries.get(line.species_id)
    if entry is None:
        return line.rates.weight[name]
    return entry.protocol_for(line.protocol, line.method).rates[name].weight


def _survival(rates: Sequence[tuple[SeasonLine, Mapping[str, float]]]) -> np.ndarray:
    years = {year: name for name, year in SURVIVAL.items()}
    return np.array(
        [own[years[line.survival_year]] if line.survival_year in years else 1.0 for line, own in rates]
    )


def _methods(lines: Sequence[SeasonLine]) -> np.ndarray:
    return np.array([str(line.method) for line in lines], np.str_)


def _whole(lines: Sequence[SeasonLine], name: str) -> np.ndarray:
    return np.array([getattr(line, name) for line in lines], np.int64)

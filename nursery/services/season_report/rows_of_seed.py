"""Rows on seed collected, on losses, and on what the nursery made of its seed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from nursery.planning.growing.words import Cause, Stage
from nursery.services.season_report.losses import Loss
from nursery.services.season_report.plants import Sums
from nursery.services.season_report.rows import share, table
from nursery.services.season_report.scope import Scope
from nursery.services.season_report.seed import CollectedLot
from nursery.services.season_report.yields import RATES, Yield


def seed_tables(
    scope: Scope, lots: Sequence[CollectedLot], losses: Sequence[Loss], yields: dict[int, Yield], plants: Sums
) -> dict[str, dict[str, Any]]:
    """By key."""
    return {
        "seed_by_species": _seed(scope, lots),
        "seed_lots": _lots(scope, lots),
        "losses": _losses(losses),
        "losses_by_species": _by_species(scope, losses, plants),
        "yields": _yields(scope, yields),
    }


def _seed(scope: Scope, lots: Sequence[CollectedLot]) -> dict[str, Any]:
    groups: defaultdict[int, list[CollectedLot]] = defaultdict(list)
    for lot in lots:
        groups[lot.species_id].append(lot)
    rows = sorted((scope.species_name(key), *_summed(own)) for key, own in groups.items())
    return table(
        ("species", "lots", "populations", "mothers", "grams", "fruit_grams", "pieces", "permits"),
        rows,
        ("", *_summed(lots)),
    )


def _summed(lots: Sequence[CollectedLot]) -> list[Any]:
    return [
        len(lots), len({lot.population_id for lot in lots}), sum(lot.mothers or 0 for lot in lots),
        sum(lot.grams for lot in lots), sum(lot.fruit_grams for lot in lots), sum(lot.pieces for lot in lots),
        len({lot.permit for lot in lots if lot.permit}),
    ]  # fmt: skip


def _lots(scope: Scope, lots: Sequence[CollectedLot]) -> dict[str, Any]:
    return table(
        (
            "lot", "species", "population", "collected_on", "grams", "fruit_grams", "pieces", "mothers", "permit",
        ),
        (
            (
                lot.code, scope.species_name(lot.species_id), lot.population, lot.collected_on.isoformat(),
                lot.grams, lot.fruit_grams, lot.pieces, lot.mothers, lot.permit,
            )
            for lot in lots
        ),
    )  # fmt: skip


def _losses(losses: Sequence[Loss]) -> dict[str, Any]:
    total = sum(loss.plants for loss in losses)
    sums: defaultdict[tuple[Stage, Cause], int] = defaultdict(int)
    for loss in losses:
        sums[loss.stage, loss.cause] += loss.plants
    order = list(Stage)
    found = sorted(sums.items(), key=lambda one: (order.index(one[0][0]), -one[1], one[0][1]))
    return table(
        ("stage", "cause", "lost", "share"),
        ((stage.value, cause.value, plants, share(plants, total)) for (stage, cause), plants in found),
        ("", "", total, 1.0 if total else None),
    )


def _by_species(scope: Scope, losses: Sequence[Loss], plants: Sums) -> dict[str, Any]:
    sums: defaultdict[int, int] = defaultdict(int)
    for loss in losses:
        sums[loss.species_id] += loss.plants
    rows = [
        (scope.species_name(key), lost, grown, share(lost, lost + grown))
        for key, lost in sums.items()
        for grown in [_kept(plants, key)]
    ]
    lost, grown = sum(row[1] for row in rows), sum(row[2] for row in rows)
    return table(
        ("species", "lost", "grown", "lost_share"), sorted(rows), ("", lost, grown, share(lost, lost + grown))
    )


def _kept(plants: Sums, species_id: int) -> int:
    """Plants grown; those missing on the way are among the losses already."""
    found = plants.by_species.get(species_id)
    return found.grown - found.missing if found is not None else 0


def _yields(scope: Scope, yields: dict[int, Yield]) -> dict[str, Any]:
    every = Yield()
    for one in yields.values():
        every.add(one)
    return table(
        ("species", "batches", "seeds", "viability", *RATES, "plants_per_kg"),
        sorted((scope.species_name(key), *_rates(one)) for key, one in yields.items()),
        ("", *_rates(every)),
    )


def _rates(one: Yield) -> list[Any]:
    return [one.batches, one.seeds, one.viability, *(one.rate(name) for name in RATES), one.plants_per_kg]

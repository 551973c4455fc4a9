"""Rows on plants: targets and what became of them, survival, origins."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from nursery.services.season_report.origins import Origins
from nursery.services.season_report.plants import NAMES, Cell, Sums
from nursery.services.season_report.rows import share, table
from nursery.services.season_report.scope import Scope
from nursery.services.season_report.survival import Survival


def plant_tables(scope: Scope, plants: Sums, origins: Origins, survival: Survival) -> dict[str, dict[str, Any]]:
    """By key."""
    return {
        "plants_by_species": _plants(
            "species", ((scope.species_name(key), cell) for key, cell in plants.by_species.items()), plants.total
        ),
        "plants_by_site": _plants(
            "site", ((scope.site_name(key), cell) for key, cell in plants.by_site.items()), plants.total
        ),
        "survival": _survival(scope, survival),
        "death_causes": _causes(survival),
        "origins": _origins(scope, origins),
        "sources": _sources(scope, origins),
    }


def _plants(first: str, cells: Iterable[tuple[str, Cell]], total: Cell) -> dict[str, Any]:
    # Rows without a name (no site yet) come last.
    found = sorted(cells, key=lambda one: (not one[0], one[0].casefold()))
    return table(
        (first, *NAMES, "reached"),
        ((name, *cell.values(), share(cell.filled, cell.wanted)) for name, cell in found),
        ("", *total.values(), share(total.filled, total.wanted)),
    )


def _survival(scope: Scope, survival: Survival) -> dict[str, Any]:
    rows = [
        (
            scope.species_name(one.species_id), scope.site_name(one.site_id), one.season, one.year, one.planted,
            one.alive, one.rate, one.low, one.high, one.replacements,
        )
        for one in survival.rows
    ]  # fmt: skip
    columns = (
        "species", "site", "planting_season", "survey_year", "surveyed", "alive", "survival", "low", "high",
        "replaced_alive",
    )  # fmt: skip
    return table(columns, sorted(rows, key=lambda row: (-row[2], row[3], row[0], row[1])))


def _causes(survival: Survival) -> dict[str, Any]:
    dead = sum(one.planted - one.alive for one in survival.own())
    rows = sorted(survival.causes.items(), key=lambda one: (-one[1], one[0]))
    named = sum(survival.causes.values())
    unseen = [("", dead - named, share(dead - named, dead))] if dead > named else []
    return table(
        ("death_cause", "dead", "share"),
        [*((cause, plants, share(plants, dead)) for cause, plants in rows), *unseen],
        ("", dead, 1.0 if dead else None),
    )


def _origins(scope: Scope, origins: Origins) -> dict[str, Any]:
    rows = [
        (
            scope.site_name(one.site_id), scope.species_name(one.species_id), one.plants, one.populations,
            one.local, one.mothers, one.effective,
        )
        for one in origins.rows
    ]  # fmt: skip
    return table(
        ("site", "species", "plants", "populations", "local", "mothers", "effective"),
        sorted(rows, key=lambda row: (row[0], row[1])),
        ("", "", sum(row[2] for row in rows), None, origins.local, None, None),
    )


def _sources(scope: Scope, origins: Origins) -> dict[str, Any]:
    rows = [
        (
            scope.site_name(one.site_id), scope.species_name(one.species_id), one.population, one.region,
            one.plants, one.share, one.is_local,
        )
        for one in origins.sources
    ]  # fmt: skip
    return table(
        ("site", "species", "population", "region", "plants", "share_of_species", "is_local"),
        sorted(rows, key=lambda row: (row[0], row[1], -row[4], row[2])),
    )

"""What the demo wants planted, in three planting winters and by all three bases."""

from __future__ import annotations

import datetime as dt

from nursery.models import Site, Species, Target
from nursery.models.targets import TargetBasis
from nursery.services.demo.dating import season_of
from nursery.services.demo.tables import number, rows, whole


def targets(
    today: dt.date, sites: dict[str, Site], species: dict[str, Species], *, table: str = "targets"
) -> list[Target]:
    """All targets of a table, told from ``today``."""
    funders = {row["site"]: row["funder"] for row in rows("funders")}
    return [
        _target(
            row, season_of(row["season"], today), sites[row["site"]], species[row["species"]],
            funders.get(row["site"], ""),
        )
        for row in rows(table)
    ]  # fmt: skip


def _target(row: dict[str, str], season: int, site: Site, species: Species, funder: str) -> Target:
    if row["survivors"]:
        basis, plants = TargetBasis.SURVIVORS, int(row["survivors"])
    elif row["density_per_ha"]:
        basis, plants = TargetBasis.DENSITY, None
    else:
        basis, plants = TargetBasis.PLANTS, int(row["plants"])
    return Target(
        site=site,
        species=species,
        season=season,
        funder=funder,
        basis=basis,
        plants=plants,
        survival_year=whole(row["year"]),
        density_per_ha=number(row["density_per_ha"]),
        share=number(row["share"]),
        protocol=row["protocol"],
        priority=int(row["priority"]),
        assurance=number(row["assurance"]),
        seeds_per_cell=whole(row["seeds_per_cell"]),
    )

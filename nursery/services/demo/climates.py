"""Invented climate normals of the demo's places; those expected are warmer and drier."""

from __future__ import annotations

from collections.abc import Mapping

from nursery.models import Population, Site
from nursery.models.climates import Climate, Period
from nursery.services.demo.tables import number, rows


def climates(stands: Mapping[str, Population], sites: Mapping[str, Site]) -> list[Climate]:
    """Present and expected normals of every place; the places have their ids."""
    return [
        Climate(
            population_id=stands[row["place code"]].id if row["kind"] == "population" else None,
            site_id=sites[row["place code"]].id if row["kind"] == "site" else None,
            period=Period(row["period"]),
            mean_annual_c=number(row["mean_annual_c"]),
            annual_rain_mm=number(row["annual_rain_mm"]),
            summer_rain_mm=number(row["summer_rain_mm"]),
            coldest_month_min_c=number(row["coldest_month_min_c"]),
            source=row["source"],
        )
        for row in rows("climates")
    ]

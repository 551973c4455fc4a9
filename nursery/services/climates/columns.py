"""Columns of a file of climate normals, read by the machinery of the other imports."""

from __future__ import annotations

from typing import Any

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.climates import Climate
from nursery.services.importing.columns import Column, Columns, Shape
from nursery.services.importing.kinds import Kind
from nursery.services.importing.references import refer
from nursery.services.importing.rows import Row
from nursery.services.limits import Bounds

#: Normals of weather stations lie within (from memory; the hottest year is some 35 °C). Beyond is a slip of the
#: unit, such as the degrees Fahrenheit of a mild place.
MEAN_C, COLDEST_C = Bounds(-60, 40), Bounds(-80, 40)
#: The rainiest stations have about 12,000 mm a year (from memory).
RAIN_MM = Bounds(0, 15_000)
MEASURES = ("mean_annual_c", "annual_rain_mm", "summer_rain_mm", "coldest_month_min_c")
REGISTERS = {"population": "populations", "site": "sites"}

COLUMNS: Columns = (
    Column(
        key="place_code", heading="Place code", label=_l("Place code"), shape=Shape.CODE,
        help=_l("Code of the population or site, as it is on record."), example="P-EXAMPLE",
        also=("code", "place", "código", "código do local", "código del lugar", "lugar", "local"),
        required=True, max_length=24,
    ),
    Column(
        key="kind", heading="Kind", label=_l("Kind"), shape=Shape.CHOICE,
        help=_l("population or site."), example="population",
        also=("kind of place", "type", "tipo", "tipo de local", "tipo de lugar"), required=True,
        words=(
            ("population", ("stand", "população", "populacao", "población", "poblacion")),
            ("site", ("planting site", "local", "sítio", "sitio", "parcela")),
        ),
    ),
    Column(
        key="period", heading="Period", label=_l("Period"), shape=Shape.CHOICE,
        help=_l("present or expected."), example="present", also=("período", "periodo"), required=True,
        words=(
            ("present", ("now", "current", "presente", "atual", "actual")),
            ("expected", ("future", "futuro", "previsto", "esperado")),
        ),
    ),
    Column(
        key="mean_annual_c", heading="Mean annual temperature (°C)", label=_l("Mean annual temperature (°C)"),
        shape=Shape.NUMBER, help=_l("Mean of the year, in °C."), example="15.4",
        also=("mean annual c", "mean temperature", "mat", "temperatura média anual", "temperatura media anual"),
        bounds=MEAN_C,
    ),
    Column(
        key="annual_rain_mm", heading="Annual rain (mm)", label=_l("Annual rain (mm)"), shape=Shape.NUMBER,
        help=_l("Rain and snow of the year, in mm."), example="560",
        also=("annual rain", "rain", "precipitation", "map", "precipitação anual", "precipitación anual"),
        bounds=RAIN_MM,
    ),
    Column(
        key="summer_rain_mm", heading="Summer rain (mm)", label=_l("Summer rain (mm)"), shape=Shape.NUMBER,
        help=_l("Rain of the three summer months, in mm; part of the annual rain."), example="45",
        also=("summer rain", "precipitação de verão", "precipitación de verano"), bounds=RAIN_MM,
    ),
    Column(
        key="coldest_month_min_c", heading="Coldest month, minimum (°C)", label=_l("Coldest month, minimum (°C)"),
        shape=Shape.NUMBER, help=_l("Mean of the daily minima of the coldest month, in °C."), example="2.1",
        also=("coldest month min c", "coldest month minimum", "mínima do mês mais frio", "mínima del mes frío"),
        bounds=COLDEST_C,
    ),
    Column(
        key="source", heading="Source", label=_l("Source"), shape=Shape.TEXT,
        help=_l("Data set and years, or scenario."), example="normals 1991–2020",
        also=("data set", "dataset", "fonte", "fuente", "origem", "origen"), max_length=200,
    ),
)  # fmt: skip


def settle(row: Row) -> None:
    """Find the place that the code and the kind name."""
    code, kind = row.given.get("place_code"), row.given.get("kind")
    if code is None or kind is None:
        return
    try:
        entry = refer(row.book, REGISTERS[kind], code)
    except Invalid as refused:
        row.problems.append(("place_code", " ".join(refused.errors.values())))
        return
    row.given[f"{kind}_id"] = entry.id


def identities(values: dict[str, Any]) -> tuple[tuple[Any, ...], ...]:
    """The place and the period."""
    period = values.get("period")
    for key in ("population_id", "site_id"):
        if values.get(key) is not None and period is not None:
            return ((key, values[key], str(period)),)
    return ()


def refuse(row: Row) -> dict[str, str]:
    """Values that contradict each other, and rows without any."""
    known = row.merged
    if not any(key in row.given or key in row.unread for key in MEASURES):
        return {"mean_annual_c": _("The row has no value. Fill one in, or leave the row out.")}
    wrong = {}
    summer, year = known.get("summer_rain_mm"), known.get("annual_rain_mm")
    if summer is not None and year is not None and summer > year:
        wrong["summer_rain_mm"] = _(
            "More rain in summer (%(summer)s mm) than in the whole year (%(year)s mm). Correct one of them.",
            summer=f"{summer:g}",
            year=f"{year:g}",
        )
    coldest, mean = known.get("coldest_month_min_c"), known.get("mean_annual_c")
    if coldest is not None and mean is not None and coldest > mean:
        wrong["coldest_month_min_c"] = _(
            "The coldest month (%(coldest)s °C) is warmer than the year (%(mean)s °C). Correct one of them.",
            coldest=f"{coldest:g}",
            mean=f"{mean:g}",
        )
    return wrong


KIND = Kind(
    key="climates",
    label=_l("Climate normals"),
    known_by=_l("Normals are recognised by their place and period."),
    model=Climate,
    columns=COLUMNS,
    settle=settle,
    identities=identities,
    refuse=refuse,
)

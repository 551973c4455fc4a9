"""Figures that other programs read and that no list of records holds: species, ready stock, forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from babel.support import LazyProxy
from sqlalchemy.orm import Session

from nursery.catalog.vocabulary import METHODS, STORAGE_LABELS
from nursery.i18n import lazy as _l
from nursery.planning.words import Method, StorageClass
from nursery.services import limits
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.calculators.calculator import Result
from nursery.services.calculators.composite import read_fields
from nursery.services.calculators.fields import Choice, Field, Flag, Text, Whole
from nursery.services.forecast import listing as forecast
from nursery.services.forecast import words as forecast_words
from nursery.services.forecast.promises import Standing, TargetForecast, read_forecasts
from nursery.services.ready import query as ready
from nursery.services.ready.season import Group, read_ready
from nursery.services.ready.tables import COLUMNS as READY_COLUMNS
from nursery.services.ready.tables import columns_of
from nursery.services.species import listing as species


class By(StrEnum):
    """How the stock is grouped: as for people, but not by origin, which would give away names of stands."""

    SPECIES = ready.By.SPECIES
    CONTAINER = ready.By.CONTAINER
    GRADE = ready.By.GRADE
    SITE = ready.By.SITE
    BATCH = ready.By.BATCH


_ID = limits.Bounds(1, 2**31 - 1)


@dataclass(frozen=True)
class Table:
    """Rows of figures: ``rows(session, today, **values)`` with the values of ``fields``."""

    name: str
    title: LazyProxy
    about: LazyProxy
    fields: tuple[Field, ...]
    columns: tuple[Result, ...]
    rows: Callable[..., list[dict[str, Any]]]

    def read(self, session: Session, asked: Mapping[str, str], *, today: dt.date) -> dict[str, Any]:
        """The rows asked for; `Invalid` by the name of the parameter."""
        return {"items": self.rows(session, today, **read_fields(self.fields, asked))}


def _species(
    session: Session, _today: dt.date, *, q: str, storage: str, method: str, own: bool
) -> list[dict[str, Any]]:
    query = species.SpeciesQuery(q=q.replace("\0", " "), storage=storage, method=method, own=own)
    return [_one_species(row) for row in species.list_species(session, query)]


def _one_species(row: species.SpeciesRow) -> dict[str, Any]:
    entry = row.entry
    values = (
        entry.scientific_name, entry.authorship, entry.family, row.common_name, str(entry.storage.behaviour),
        str(entry.default_protocol.method), list(entry.collecting.months), entry.seed.thousand_seed_weight_g,
        len(entry.protocols), row.own_figures,
    )  # fmt: skip
    return {"key": entry.key, **dict(zip(_SPECIES_KINDS, values, strict=True))}


_SPECIES_KINDS = {key: "text" for key, _label, _unit in species.COLUMNS} | {
    "storage": "choice", "method": "choice", "collected": "months", "tsw": "number", "protocols": "whole",
    "own_figures": "whole",
}  # fmt: skip


def _ready(
    session: Session, today: dt.date, *, season: int | None, by: StrEnum, species: int | None, site: int | None,
    nursery: str,
) -> list[dict[str, Any]]:  # fmt: skip
    asked = ready.ReadyQuery(season, ready.By(by.value), species, site, nursery.replace("\0", " "))
    found = read_ready(session, asked, today=today)
    return [{"season": found.season, **_group(group, asked.by)} for group in found.groups()]


def _group(group: Group, by: ready.By) -> dict[str, Any]:
    shown = {column.key for column in columns_of(by, files=True)}
    told: dict[str, Any] = {"name": group.name if group.is_named else None, "batch": None, "stage": None}
    if by is ready.By.BATCH:
        told |= {"batch": group.stock[0].code, "stage": group.stock[0].stage.value}
    return told | {
        column.key: getattr(group.numbers, column.key) if column.key in shown else None for column in READY_COLUMNS
    }


def _forecast(
    session: Session, today: dt.date, *, q: str, season: int | None, standing: Standing | None
) -> list[dict[str, Any]]:
    asked = forecast.ForecastQuery(season, q.replace("\0", " "), standing)
    return [_target(one) for one in forecast.wanted(read_forecasts(session, today=today).targets, asked)]


def _target(one: TargetForecast) -> dict[str, Any]:
    now = one.now
    values = (
        one.season, one.site_name, one.species_name, one.standing.value, one.promised, one.pending, one.dispatched,
        now.expected, now.p10, now.p90, now.chance, one.assurance, one.lacking,
        one.ready_on.isoformat() if one.ready_on else None, forecast_words.since(one),
    )  # fmt: skip
    told = dict(zip((key for key, *_rest in forecast.COLUMNS), values, strict=True))
    return {"target_id": one.target_id, "site_id": one.site_id, "species_key": one.species_key, **told}


_FORECAST_KINDS = {"season": "whole", "standing": "choice", "expected": "number", "since": "text"}
_CELL_KINDS = {"text": "text", "number": "whole", "percent": "fraction", "date": "date"}
_Q = Text("q", _l("Search"), default="")

TABLES = {
    one.name: one
    for one in (
        Table(
            "species",
            _l("Species"),
            _l("The catalogue with the figures in force here."),
            (
                _Q,
                Choice("storage", _l("Storage class"), choices=StorageClass, labels=STORAGE_LABELS, default=""),
                Choice("method", _l("Usual method"), choices=Method, labels=METHODS, default=""),
                Flag("own", _l("With own figures"), default=False),
            ),
            (
                Result("key", _l("Key"), "text"),
                *(
                    Result(
                        key, label, _SPECIES_KINDS[key], unit,
                        labels={"storage": STORAGE_LABELS, "method": METHODS}.get(key, {}),
                    )
                    for key, label, unit in species.COLUMNS
                ),
            ),
            _species,
        ),
        Table(
            "ready",
            _l("Ready for the season"),
            _l("Plants that stand ready, are expected, promised and free, in the season asked for or the next."),
            (
                Whole("season", _l("Season"), bounds=limits.SEASON, default=None),
                Choice(
                    "by", _l("Grouped by"), choices=By, default=By.SPECIES,
                    labels={one: ready.LABELS[ready.By(one.value)] for one in By},
                ),
                Whole("species", _l("Species"), bounds=_ID, default=None, help=_l("The number of the species.")),
                Whole("site", _l("Planting site"), bounds=_ID, default=None, help=_l("The number of the site.")),
                Text("nursery", _l("Nursery"), default=""),
            ),
            (
                Result("season", _l("Season"), "whole"),
                Result("name", _l("Name"), "text"),
                Result("batch", _l("Batch"), "text"),
                Result("stage", _l("Stage"), "choice", labels=STAGE_LABELS),
                *(Result(column.key, column.label, "whole") for column in READY_COLUMNS),
            ),
            _ready,
        ),
        Table(
            "forecast",
            _l("Forecast"),
            _l("What the growing batches will give for each target, shortages first."),
            (
                _Q,
                Whole("season", _l("Season"), bounds=limits.SEASON, default=None),
                Choice(
                    "standing", _l("How it stands"), choices=Standing, default=None,
                    labels={key: words for key, (words, _tone) in forecast_words.STANDINGS.items()},
                ),
            ),
            (
                Result("target_id", _l("Target number"), "whole"),
                Result("site_id", _l("Planting site"), "whole"),
                Result("species_key", _l("Species"), "text"),
                *(
                    Result(
                        key, label, _FORECAST_KINDS.get(key, _CELL_KINDS[kind]),
                        labels={
                            each: words for each, (words, _tone) in forecast_words.STANDINGS.items()
                        } if key == "standing" else {},
                    )
                    for key, label, kind, _width in forecast.COLUMNS
                ),
            ),
            _forecast,
        ),
    )
}  # fmt: skip

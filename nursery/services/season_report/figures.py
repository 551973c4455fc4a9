"""All numbers of a report as JSON holds them: tables of raw values and words by their keys.

Numbers have 15 digits, as many as any workbook keeps, and are rounded no further.

Page, PDF and workbook are all made of this one structure, which is kept with the report and never changed.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy.orm import Session

from nursery.services.logo import read_logo
from nursery.services.preferences import read_preferences
from nursery.services.season_report import (
    definitions,
    rows_of_money,
    rows_of_plants,
    rows_of_seed,
    rows_of_stories,
)
from nursery.services.season_report.losses import read_losses
from nursery.services.season_report.money import read_money
from nursery.services.season_report.origins import Origins, read_origins
from nursery.services.season_report.plants import read_plants
from nursery.services.season_report.scope import last_season, read_scope
from nursery.services.season_report.seed import read_collected
from nursery.services.season_report.stories import read_deviations, read_overrides
from nursery.services.season_report.survival import read_survival
from nursery.services.season_report.work import read_hours, read_planting_days
from nursery.services.season_report.yields import read_yields

#: Raised when what is in the figures changes its meaning.
VERSION = 2
#: Steps of the gathering, in their order; each is told before it begins.
STEPS = ("batches", "costs", "plants", "origins", "survival", "seed", "losses", "hours", "deviations")

Report = Callable[[str], None]


def gather_figures(
    session: Session, *, season: int, today: dt.date, report: Report = lambda _step: None
) -> dict[str, Any]:
    """Read everything, in a number of queries that does not follow from what is on record.

    Parameters
    ----------
    session : Session
    season : int
        First year of the planting winter.
    today : date
        What was known on this day is told.
    report
        Called with each of `STEPS` as it begins.

    Returns
    -------
    dict
        ``tables`` by key with ``columns``, ``rows`` and ``total``; ``facts`` by key; ``definitions`` and ``notes``
        by language; what the organisation says of itself.
    """
    report("batches")
    scope = read_scope(session, season, today=today)
    report("costs")
    money = read_money(session, scope)
    report("plants")
    plants = read_plants(session, scope, money.found.carriers)
    report("origins")
    origins = read_origins(session, scope)
    report("survival")
    survival = read_survival(session, scope)
    report("seed")
    collected = read_collected(session, scope)
    report("losses")
    losses, yields = read_losses(session, scope), read_yields(session, scope, money.found.carriers)
    report("hours")
    hours, days = read_hours(session, scope), read_planting_days(session, scope)
    report("deviations")
    deviations, overrides = read_deviations(session, scope), read_overrides(session, scope)
    tables = {
        **rows_of_plants.plant_tables(scope, plants, origins, survival),
        **rows_of_seed.seed_tables(scope, collected, losses, yields, plants),
        **rows_of_money.money_tables(scope, money, plants, survival, hours, days),
        **rows_of_stories.story_tables(scope, deviations, overrides),
    }
    own = read_preferences(session)
    figures = {
        "version": VERSION,
        "season": season,
        "first": scope.first.isoformat(),
        "last": scope.last.isoformat(),
        "as_of": today.isoformat(),
        "organisation": own.organisation,
        "opening": own.report_opening,
        "closing": own.report_closing,
        "colour": own.report_colour,
        "logo": _as_text(read_logo(session)),
        "currency": own.currency,
        "facts": _facts(tables, origins, survival.rate()),
        "tables": tables,
        "definitions": definitions.in_all_languages(),
        "notes": definitions.notes_in_all_languages(money.by_species, is_over=season <= last_season(today)),
    }
    # As they will come back from the database, so that the digest is that of what is kept.
    read: dict[str, Any] = json.loads(canonical(figures), parse_float=_in_15_digits)
    return read


def _as_text(logo: bytes | None) -> str:
    return base64.b64encode(logo).decode() if logo else ""


def _in_15_digits(text: str) -> float:
    return float(f"{float(text):.15g}")


def _facts(
    tables: Mapping[str, Mapping[str, Any]], origins: Origins, survival: tuple[float, float, float] | None
) -> dict[str, Any]:
    """The few numbers at the head of the report; each stands in a table too."""
    total = dict(zip(tables["plants_by_species"]["columns"], tables["plants_by_species"]["total"], strict=True))
    seed = dict(zip(tables["seed_by_species"]["columns"], tables["seed_by_species"]["total"], strict=True))
    cost = dict(zip(tables["costs_by_species"]["columns"], tables["costs_by_species"]["total"], strict=True))
    hours = dict(zip(tables["hours"]["columns"], tables["hours"]["total"], strict=True))
    days = dict(zip(tables["planting_days"]["columns"], tables["planting_days"]["total"], strict=True))
    rate, low, high = survival or (None, None, None)
    return {
        "wanted": total["wanted"], "grown": total["grown"], "sent": total["sent"], "planted": total["planted"],
        "reached": total["reached"], "replaced": total["replaced"],
        "species": sum(1 for row in tables["plants_by_species"]["rows"] if row[-3] or row[-2]),
        "sites": sum(1 for row in tables["plants_by_site"]["rows"] if row[-3] or row[-2]),
        "area_ha": days["area_m2"] / 10_000 if days["area_m2"] else None,
        "survival": rate, "survival_low": low, "survival_high": high,
        "local": origins.local, "local_known": origins.known, "documented": origins.documented,
        "lots": seed["lots"], "grams": seed["grams"], "mothers": seed["mothers"],
        "costs": cost["money"], "each_grown": cost["each_grown"], "each_planted": cost["each_planted"],
        "each_surviving": cost["each_surviving"],
        "hours_paid": hours["paid"], "hours_given": hours["given"], "planting_hours": days["hours"],
    }  # fmt: skip


def canonical(figures: Mapping[str, Any]) -> str:
    """The figures as text, always in the same order."""
    return json.dumps(figures, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest_of(figures: Mapping[str, Any]) -> str:
    """SHA-256 of the figures in canonical form: equal digests mean equal numbers and words."""
    return hashlib.sha256(canonical(figures).encode()).hexdigest()

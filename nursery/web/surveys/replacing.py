"""A site's survival with the replacements it asks for: proposed, made targets with one click, taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import NurseryError
from nursery.i18n import ngettext
from nursery.models import Site
from nursery.planning.field.words import LAST_YEAR, Goal
from nursery.services.limits import SEASON
from nursery.services.listing import whole
from nursery.services.seasons import season_name
from nursery.services.surveys.handing import hand_on, take_back
from nursery.services.surveys.proposing import Proposals, next_season_of, propose
from nursery.services.surveys.words import GOAL_LABELS, cause_name
from nursery.web.records import ID
from nursery.web.session import actor, db, today
from nursery.web.surveys import routes as _routes  # noqa: F401 -- its pages hang on the blueprint
from nursery.web.surveys.blueprint import bp
from nursery.web.surveys.showing import survival_card
from nursery.web.surveys.sites import get_site

__all__ = ["bp"]


@bp.get(f"/surveys/sites/{ID}")
def of_site(record_id: int) -> str:
    """How a site's plantings live, and what would make up for losses."""
    site = get_site(record_id)
    card = survival_card(site, request.args.get("season", type=whole))
    survived = card["survived"]
    return render_template(
        "surveys/site.html",
        section="plant",
        row=site,
        proposals=_proposals(site, survived.season) if survived is not None else None,
        goals=[(goal.value, str(label)) for goal, label in GOAL_LABELS.items()],
        seasons=[(one, season_name(one)) for one in range(*_coming(site))],
        cause_name=cause_name,
        **card,
    )


@bp.post(f"/surveys/sites/{ID}/replacements")
def replace(record_id: int) -> ResponseReturnValue:
    """Make what is proposed into targets."""
    site, asked = get_site(record_id), _sent()

    def write() -> str:
        targets = hand_on(db(), actor(), site=site, today=today(), **asked)
        return ngettext(
            "%(num)s target of %(season)s asks for the replacements now. A new plan reckons with it.",
            "%(num)s targets of %(season)s ask for the replacements now. A new plan reckons with them.",
            len(targets),
            season=season_name(asked["coming"]),
        )

    return _done(record_id, write, asked["season"])


@bp.post(f"/surveys/sites/{ID}/replacements/withdraw")
def take(record_id: int) -> ResponseReturnValue:
    """Take what was asked for back."""
    site, asked = get_site(record_id), _sent()

    def write() -> str:
        plants = take_back(db(), actor(), site=site, season=asked["season"], year=asked["year"], today=today())
        return ngettext(
            "%(num)s replacement is no longer asked for.", "%(num)s replacements are no longer asked for.", plants
        )

    return _done(record_id, write, asked["season"])


def _done(record_id: int, write: Callable[[], str], season: int) -> ResponseReturnValue:
    try:
        told = write()
    except NurseryError as refused:
        db().rollback()
        flash(str(refused), "caution")
    else:
        flash(told, "ok")
    return redirect(url_for("surveys.of_site", record_id=record_id, season=season, _anchor="replacements"), 303)


def _sent() -> dict[str, Any]:
    """Season, year, goal and coming season of the form; numbers out of bounds become ones that fit nothing."""
    numbers = {
        name: value if (value := request.form.get(name, type=whole)) is not None and low <= value <= high else low
        for name, low, high in (
            ("season", 1900, int(SEASON.high)), ("year", 1, LAST_YEAR),
            ("coming", int(SEASON.low), int(SEASON.high)),
        )
    }  # fmt: skip
    return {**numbers, "goal": _goal(request.form.get("goal", ""))}


def _goal(text: str) -> Goal:
    return Goal(text) if text in list(Goal) else Goal.EXPECTED


def _coming(site: Site) -> tuple[int, int]:
    first = next_season_of(site, today())
    return first - 1, first + 3


def _proposals(site: Site, season: int) -> Proposals | None:
    first, after = _coming(site)
    coming = request.args.get("coming", type=whole)
    return propose(
        db(),
        site=site,
        season=season,
        year=request.args.get("year", type=whole),
        goal=_goal(request.args.get("goal", "")),
        coming=coming if coming is not None and first <= coming < after else None,
        today=today(),
    )

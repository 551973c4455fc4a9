"""The page of “what if”, and taking a change over into the targets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import MultiDict

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import ngettext
from nursery.services.costing.explaining import each, money
from nursery.services.costing.what_if import take_over as take_changes_over
from nursery.services.costing.what_if import try_changes
from nursery.services.costing.what_if_choices import Offered, offered, species_offered
from nursery.services.limits import CHANCE
from nursery.services.planning.changes import Changes
from nursery.services.planning.words import STATUS
from nursery.services.understanding import parse_fraction
from nursery.web.session import actor, db, today

bp = Blueprint("what_if", __name__)


@dataclass(frozen=True)
class Asked:
    """What the address (or the form) asks for."""

    offered: Offered | None
    changes: Changes
    assurance: str
    #: What could not be understood.
    trouble: str = ""


@bp.get("/what-if")
def page() -> str:
    """The choices, and the two plans side by side once something is chosen."""
    asked = _read(request.args)
    tried = None
    if asked.offered is not None and not asked.changes.is_empty and not asked.trouble:
        tried = try_changes(db(), asked.changes, species_id=asked.offered.species.id, today=today())
    return render_template(
        "what_if/page.html",
        section="grow",
        species=species_offered(db()),
        asked=asked,
        tried=tried,
        statuses=STATUS,
        fields=_fields(asked),
        money=lambda cents: money(cents, tried.prices) if tried else "",
        each=lambda value: each(value, tried.prices) if tried else "",
    )


@bp.post("/what-if/take-over")
def take_over() -> ResponseReturnValue:
    """Change the targets as tried."""
    asked = _read(request.form)
    if asked.offered is None or asked.changes.is_empty or asked.trouble:
        flash(asked.trouble or _("Nothing was chosen, so nothing was changed."), "stop")
        return redirect(url_for(".page"), 303)
    try:
        changed = take_changes_over(db(), actor(), asked.changes, today=today())
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".page", **_fields(asked)), 303)  # type: ignore[arg-type]
    told = ngettext("%(num)s target was changed.", "%(num)s targets were changed.", len(changed))
    flash(f"{told} {_('Make a new plan to work by it.')}", "ok")
    return redirect(url_for("targets.list_page", species=asked.offered.species.key), 303)


def _read(args: MultiDict[str, str]) -> Asked:
    """Only what is offered counts; the rest is as not asked."""
    found = offered(db(), args.get("species", ""), today=today())
    if found is None:
        return Asked(None, Changes(()), "")
    ids = [key for key, _label in found.targets]
    chosen = [key for key in args.getlist("target", type=int) if key in ids]
    typed, trouble = args.get("assurance", "").replace("\0", "").strip()[:20], ""
    assurance = None
    if typed:
        try:
            assurance = parse_fraction(typed)
            trouble = CHANCE.share_refusal(assurance) or ""
        except Invalid as refused:
            trouble = str(refused)
    changes = Changes(
        targets=frozenset(chosen or ids),
        container_id=_whole(_offered(args, "container", found.containers)),
        protocol=_offered(args, "protocol", found.protocols),
        assurance=assurance,
        season=_whole(_offered(args, "season", found.seasons)),
    )
    return Asked(found, changes, typed, trouble)


def _offered(args: MultiDict[str, str], name: str, options: Sequence[tuple[str, str]]) -> str | None:
    asked = args.get(name, "")
    return asked if asked in dict(options) else None


def _whole(text: str | None) -> int | None:
    return None if text is None else int(text)


def _fields(asked: Asked) -> dict[str, object]:
    """What was asked, for the next request."""
    if asked.offered is None:
        return {}
    changes = asked.changes
    told: dict[str, object] = {
        "species": asked.offered.species.key, "target": [str(key) for key in sorted(changes.targets)],
        "container": changes.container_id, "protocol": changes.protocol, "assurance": asked.assurance,
        "season": changes.season,
    }  # fmt: skip
    return {name: value for name, value in told.items() if value}

"""Levelling: before and after, the moves in words, and taking over what a target can hold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import ngettext
from nursery.services.space.levelling import Levelling, read_levelling, take_over
from nursery.services.space.occupancy import WEEKS, Use
from nursery.services.space.telling import how, what_it_costs, what_to_do
from nursery.web.health.panels import of_work
from nursery.web.links import address, line_address
from nursery.web.session import actor, db, today
from nursery.web.space.drawing import Drawing, draw, told
from nursery.web.space.routes import bp

HEIGHT = 100
#: Weeks that are shown after the last one that was too full.
_AFTER = 6


@bp.get("/space/levelling")
def levelling_page() -> str:
    """The moves that would make everything fit; nothing is written."""
    return _show(read_levelling(db(), today=today()))


@bp.post("/space/levelling")
def take_over_moves() -> ResponseReturnValue:
    """Pin the planting days that the person saw."""
    try:
        pinned = take_over(db(), actor(), mark=request.form.get("mark", ""), today=today())
    except (Conflict, Invalid) as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(".levelling_page"), 303)
    flash(
        ngettext(
            "%(num)s planting day was pinned. Make the plan anew: only then do sowings and trays follow.",
            "%(num)s planting days were pinned. Make the plan anew: only then do sowings and trays follow.",
            pinned,
        ),
        "ok",
    )
    return redirect(address("plans.list_page") or url_for(".page"), 303)


def _show(found: Levelling) -> str:
    moves = found.moves
    return render_template(
        "space/levelling.html",
        section="grow",
        found=found,
        moves=moves,
        shifted=sum(move.is_shift for move in moves),
        dropped=[move for move in moves if move.is_dropped],
        carried=[move for move in moves if move.stands],
        # Trays are carried by people: nobody is sent where a treatment is too fresh.
        **(of_work() if any(move.stands and not move.line for move in moves) else {"reentries": ()}),
        lost=sum(move.item.plants for move in moves if move.is_dropped),
        uses=_drawn(found),
        weeks_left=int((found.answer.over_after > 0).any(axis=0).sum()),
        what_to_do=what_to_do,
        what_it_costs=what_it_costs,
        how=how,
        line_address=line_address,
        batch_address=lambda batch_id: address("batches.detail", record_id=batch_id),
        target_address=lambda target_id: address("targets.detail", record_id=target_id),
    )


def _drawn(found: Levelling) -> Sequence[dict[str, Any]]:
    """Charts of each place before and after, on one scale and over the same weeks."""
    uses = found.uses()
    last = max(
        (int(use.over.nonzero()[0].max()) for _p, *both in uses for use in both if use.weeks_over), default=0
    )
    weeks = found.problem.occupancy.weeks[: max(WEEKS, last + _AFTER)]
    names = {place.nursery_id: place.name for place in found.problem.places if place.bench_id is None}

    def drawing(use: Use, most: float) -> Drawing:
        return draw(use.of(len(weeks)), weeks, None, height=HEIGHT, most=most)

    return [
        {
            "place": place,
            "nursery": names.get(place.nursery_id, ""),
            "before": before,
            "after": after,
            "weeks": [
                (number, week)
                for number, week in enumerate(found.problem.occupancy.weeks)
                if before.over[number] > 0 or after.over[number] > 0
            ],
            "worst": told(before, before.worst),
            "worst_week": found.problem.occupancy.weeks[before.worst],
            "before_drawing": drawing(before, float(max(before.taken.max(), after.taken.max()))),
            "after_drawing": drawing(after, float(max(before.taken.max(), after.taken.max()))),
        }
        for place, before, after in uses
    ]

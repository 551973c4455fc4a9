"""What the records show to have gone otherwise than planned, offered to be written down; it writes nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Deviation, Dispatch, DispatchLine, PlantMovement, ReturnedPlants
from nursery.models.batches import PlantMovementKind
from nursery.models.dispatches import DispatchStatus
from nursery.planning.growing.words import Cause
from nursery.services.batches.words import CAUSE_LABELS
from nursery.services.costing.carriers import read_carriers
from nursery.services.planning import current_plan
from nursery.services.season_report.plants import read_plants
from nursery.services.season_report.scope import Scope, last_season, read_scope
from nursery.services.season_report.stories import read_overrides

#: A target is missed when more than this share of it is lacking.
MISSED = 0.10
#: A batch is lost when at least this share of its plants died or was destroyed.
LOST = 0.5
#: Plants that were sown in excess, or that were no good, are no misfortune.
_INTENDED = (Cause.THINNED, Cause.GRADED_OUT)


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Something that may belong into the log, in words that a person can change before writing them down."""

    kind: str
    what: str
    day: dt.date
    site_id: int | None = None
    site: str = ""
    why: str = ""
    action: str = ""


def suggest(session: Session, *, season: int, today: dt.date) -> list[Suggestion]:
    """Suggestions that no deviation of the season tells yet; the number of queries is fixed."""
    scope = read_scope(session, season, today=today)
    told = set(
        session.scalars(
            select(Deviation.what).where(Deviation.season == season, Deviation.archived_at.is_(None))
        ).all()
    )
    found = [
        *_targets(session, scope), *_batches(session, scope), *_loads(session, scope), *_overrides(session, scope),
    ]  # fmt: skip
    return [one for one in found if one.what not in told]


def _targets(session: Session, scope: Scope) -> Iterator[Suggestion]:
    """Targets missed, once the planting winter is over."""
    if scope.season > last_season(scope.as_of):
        return
    carriers = read_carriers(session, current_plan(session)).carriers
    for (species_id, site_id), cell in read_plants(session, scope, carriers).cells.items():
        if cell.wanted and cell.planted < cell.wanted * (1 - MISSED):
            what = _(
                "%(species)s: %(planted)s planted of %(wanted)s wanted (%(share)s)",
                species=scope.species_name(species_id),
                planted=format_number(cell.planted),
                wanted=format_number(cell.wanted),
                share=format_percent(cell.planted / cell.wanted),
            )
            why = _("%(grown)s plants were grown for it.", grown=format_number(cell.grown))
            yield Suggestion("target", what, min(scope.last, scope.as_of), site_id, scope.site_name(site_id), why)


def _batches(session: Session, scope: Scope) -> Iterator[Suggestion]:
    """Batches of which half or more was lost, with the causes that were written down."""
    undone = select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.is_not(None))
    rows = session.execute(
        select(
            PlantMovement.batch_id, PlantMovement.kind, PlantMovement.cause, func.sum(PlantMovement.change),
            func.max(PlantMovement.happened_on),
        )
        .where(
            PlantMovement.id.not_in(undone),
            PlantMovement.kind.in_((PlantMovementKind.LOST, PlantMovementKind.COUNTED)),
        )
        .group_by(PlantMovement.batch_id, PlantMovement.kind, PlantMovement.cause)
    )  # fmt: skip
    came: dict[int, int] = {}
    lost: dict[int, list[tuple[int, Cause, dt.date]]] = {}
    for batch_id, kind, cause, change, day in rows:
        if kind is PlantMovementKind.COUNTED:
            came[batch_id] = came.get(batch_id, 0) + int(change)
        elif cause not in _INTENDED:
            lost.setdefault(batch_id, []).append((-int(change), cause or Cause.UNKNOWN, day))
    for batch_id, batch in scope.batches.items():
        losses = sorted(lost.get(batch_id, []), reverse=True)
        plants = sum(one[0] for one in losses)
        if losses and plants >= LOST * max(came.get(batch_id, 0), 1):
            what = _(
                "Batch %(batch)s, %(species)s: %(lost)s of %(came)s plants lost",
                batch=batch.code,
                species=scope.species_name(batch.species_id),
                lost=format_number(plants),
                came=format_number(came.get(batch_id, 0)),
            )
            why = "; ".join(f"{CAUSE_LABELS[cause]}: {format_number(count)}" for count, cause, _day in losses)
            site = scope.site_name(batch.site_id)
            yield Suggestion("batch", what, max(one[2] for one in losses), batch.site_id, site, why)


def _loads(session: Session, scope: Scope) -> Iterator[Suggestion]:
    """Loads of which plants were missing when they were taken over."""
    rows = session.execute(
        select(Dispatch.code, Dispatch.site_id, Dispatch.received_on, func.sum(ReturnedPlants.plants))
        .join(ReturnedPlants.line)
        .join(DispatchLine.dispatch)
        .where(
            ReturnedPlants.is_missing, Dispatch.status == DispatchStatus.RECEIVED,
            Dispatch.archived_at.is_(None), Dispatch.sent_on.between(scope.first, scope.last),
        )
        .group_by(Dispatch.id, Dispatch.code, Dispatch.site_id, Dispatch.received_on)
        .order_by(Dispatch.id)
    )  # fmt: skip
    for code, site_id, day, missing in rows:
        what = ngettext(
            "Load %(load)s: %(num)s plant missing when it was taken over",
            "Load %(load)s: %(num)s plants missing when it was taken over",
            int(missing), load=code,
        )  # fmt: skip
        yield Suggestion("load", what, day or scope.last, site_id, scope.site_name(site_id))


def _overrides(session: Session, scope: Scope) -> Iterator[Suggestion]:
    for one in read_overrides(session, scope):
        if one.kind == "origin":
            what = _("Lot %(lot)s was let through against the rules of origin", lot=one.what)
            yield Suggestion("override", what, one.day, one.site_id, scope.site_name(one.site_id), one.reason)

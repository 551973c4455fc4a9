"""Replacements become targets on one click; a second click adds nothing, and withdrawing takes them back."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Site, Survey, SurveyCount, SurveyPlot, Target
from nursery.models.targets import TargetBasis
from nursery.planning.field.survival import shared_out
from nursery.planning.field.words import Goal
from nursery.services import auditing, records
from nursery.services.seasons import season_at
from nursery.services.surveys.proposing import Proposal, propose
from nursery.services.targets import change_target, create_target


def hand_on(
    session: Session,
    actor: str,
    *,
    site: Site,
    season: int,
    year: int,
    goal: Goal,
    coming: int,
    today: dt.date,
) -> list[Target]:
    """Make what ``propose`` proposes into targets of the coming season, or raise those that are open.

    Each survey notes its share by what died in its plot, so that withdrawing it takes that share back.

    Raises
    ------
    Conflict
        Where nothing is left to hand on, as after a second click.
    Invalid
        Where a target cannot be written, such as of a season that is over.
    """
    if site.archived_at is not None:
        raise Invalid({"": _("%(site)s is archived. Bring it back first.", site=site.name)})
    found = propose(session, site=site, season=season, year=year, goal=goal, coming=coming, today=today)
    wanted = [one for one in found.rows if one.is_open] if found is not None and found.year == year else []
    if not wanted:
        raise Conflict(_("All replacements that are proposed here are targets already. Nothing was added."))
    counts = _counts(session, site.id, season, year)
    targets = []
    for one in wanted:
        target = _raise(session, actor, site, one, coming, today)
        _note(session, actor, counts[one.row.species_id], target, one.more)
        targets.append(target)
    return targets


def take_back(session: Session, actor: str, *, site: Site, season: int, year: int, today: dt.date) -> int:
    """Take back all that the surveys of a site, season and year handed on; plants that targets lost.

    Raises
    ------
    Conflict
        Where nothing was handed on.
    """
    counts = [one for some in _counts(session, site.id, season, year).values() for one in some]
    plants = take_back_counts(session, actor, counts=counts, today=today)
    if not plants:
        raise Conflict(_("No replacements of this survey are among the targets."))
    return plants


def take_back_counts(session: Session, actor: str, *, counts: Iterable[SurveyCount], today: dt.date) -> int:
    """Lower the targets that these counts raised; a target of nothing else is archived. Plants taken back.

    A target whose winter is over stays as it was: its plants were planted, or were not.
    """
    lowered: defaultdict[int, int] = defaultdict(int)
    for count in counts:
        if count.target_id is None:
            continue
        lowered[count.target_id] += count.replaced or 0
        count.target_id, count.replaced = None, None
    session.flush()
    for target_id, plants in lowered.items():
        _lower(session, actor, records.get(session, Target, target_id), plants, today)
    return sum(lowered.values())


def _raise(session: Session, actor: str, site: Site, one: Proposal, coming: int, today: dt.date) -> Target:
    if one.target_id is None:
        values = {
            "site_id": site.id, "species_id": one.row.species_id, "season": coming, "basis": TargetBasis.PLANTS,
            "plants": one.more, "replacements": one.more, "priority": 3, "plant_on": None, "protocol": "",
            "density_per_ha": None, "share": None, "survival_year": None,
        }  # fmt: skip
        return create_target(session, actor, values=values, today=today)
    target = records.get(session, Target, one.target_id)
    values = {
        "plants": (target.plants or 0) + one.more, "replacements": target.replacements + one.more,
    }  # fmt: skip
    return change_target(session, actor, row=target, values=values, today=today)


def _lower(session: Session, actor: str, target: Target, plants: int, today: dt.date) -> None:
    over = target.season < season_at(today, southern=target.site.latitude < 0)
    if over or target.archived_at is not None or not target.replacements:
        return
    less = min(plants, target.replacements)
    left = (target.plants or 0) - less
    if left < 1:
        # Its own number stays readable: it is put aside, not emptied.
        records.update(session, actor, target, {"replacements": 0})
        records.archive(session, actor, target)
        return
    values = {"plants": left, "replacements": target.replacements - less}
    change_target(session, actor, row=target, values=values, today=today)


def _note(session: Session, actor: str, counts: Sequence[SurveyCount], target: Target, plants: int) -> None:
    free = [one for one in counts if one.target_id in {None, target.id}]
    shares = shared_out(plants, [one.planted - one.alive for one in free]).tolist()
    for count, share in zip(free, shares, strict=True):
        if share:
            count.target_id, count.replaced = target.id, (count.replaced or 0) + share
            details = {"replaced": [None, share], "target": [None, target.id]}
            auditing.record(session, actor, action="replacements asked for", row=count.survey, details=details)
    session.flush()


def _counts(session: Session, site_id: int, season: int, year: int) -> dict[int, list[SurveyCount]]:
    """Counts that stand, by species, in order."""
    found: defaultdict[int, list[SurveyCount]] = defaultdict(list)
    rows = session.scalars(
        select(SurveyCount)
        .join(Survey, SurveyCount.survey_id == Survey.id)
        .join(SurveyPlot, Survey.plot_id == SurveyPlot.id)
        .where(
            Survey.withdrawn_at.is_(None),
            SurveyPlot.site_id == site_id,
            Survey.season == season,
            Survey.year == year,
        )
        .order_by(SurveyCount.id)
    )
    for count in rows:
        found[count.species_id].append(count)
    return found

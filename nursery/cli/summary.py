"""The plan in force on one screen: what to start, what to collect, what falls short, what will be ready."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import CollectionNeed, Plan, PlanLine
from nursery.models.plans import LineStatus

#: Rows shown of each list; the pages show all.
ROWS = 4
WEEKS_AHEAD = 6


def season_summary(session: Session, today: dt.date) -> str:
    """The summary as plain text, at most 80 columns wide."""
    plan = session.scalar(select(Plan).where(Plan.is_adopted))
    if plan is None:
        return _("There is no plan in force yet. Make one with “nursery plan --new”.")
    parts = [_heading(session, plan), _to_start(session, plan, today), _to_collect(session, plan, today)]
    parts += [_short(session, plan), _forecast(session, plan)]
    return "\n\n".join("\n".join(part) for part in parts)


def _heading(session: Session, plan: Plan) -> Iterator[str]:
    query = select(PlanLine.status, func.count()).where(PlanLine.plan_id == plan.id).group_by(PlanLine.status)
    counts = dict(session.execute(query).all())
    yield _("Plan “%(label)s” of %(day)s", label=plan.label, day=format_date(plan.as_of))
    yield "  " + _(
        "%(on_track)s lines on track, %(collect)s wait for collecting, %(short)s short of seed, %(late)s too late",
        on_track=counts.get(LineStatus.ON_TRACK, 0),
        collect=counts.get(LineStatus.COLLECT, 0),
        short=counts.get(LineStatus.SHORT, 0),
        late=counts.get(LineStatus.LATE, 0),
    )


def _to_start(session: Session, plan: Plan, today: dt.date) -> Iterator[str]:
    until = today + dt.timedelta(weeks=WEEKS_AHEAD)
    wanted = (
        PlanLine.plan_id == plan.id,
        PlanLine.pretreat_on.between(today, until),
        PlanLine.status != LineStatus.LATE,
    )
    lines = session.scalars(select(PlanLine).where(*wanted).order_by(PlanLine.pretreat_on, PlanLine.id)).all()
    yield _("To start until %(day)s (pretreatment or sowing)", day=format_date(until))
    yield from _listed(
        [
            _(
                "%(day)s  %(species)s for %(site)s: sow %(trays)s trays on %(sow)s",
                day=format_date(line.pretreat_on, "dd MMM"),
                species=line.species_name,
                site=line.site_name,
                trays=format_number(line.trays),
                sow=format_date(line.sow_on, "dd MMM"),
            )
            for line in lines
        ]
    )


def _to_collect(session: Session, plan: Plan, today: dt.date) -> Iterator[str]:
    needs = session.scalars(
        select(CollectionNeed)
        .where(CollectionNeed.plan_id == plan.id, CollectionNeed.closes_on >= today)
        .order_by(CollectionNeed.opens_on, CollectionNeed.id)
    ).all()
    yield _("To collect")
    yield from _listed([_need(need) for need in needs])


def _need(need: CollectionNeed) -> str:
    place = need.region_code or need.basin
    window = f"{format_date(need.opens_on, 'dd MMM y')} – {format_date(need.closes_on, 'dd MMM y')}"
    if need.grams is None:
        return _(
            "%(window)s  %(species)s, %(place)s: %(pieces)s cuttings",
            window=window,
            species=need.species_name,
            place=place,
            pieces=format_number(need.seeds),
        )
    return _(
        "%(window)s  %(species)s, %(place)s: %(grams)s g of clean seed",
        window=window,
        species=need.species_name,
        place=place,
        grams=format_number(need.grams, 1 if need.grams < 100 else 0),
    )


def _short(session: Session, plan: Plan) -> Iterator[str]:
    lines = session.scalars(
        select(PlanLine)
        .where(PlanLine.plan_id == plan.id, PlanLine.status.in_([LineStatus.SHORT, LineStatus.LATE]))
        .order_by(PlanLine.season, PlanLine.shortfall.desc(), PlanLine.id)
    ).all()
    yield _("Falls short or comes too late")
    yield from _listed(
        [
            _(
                "%(season)s  %(species)s for %(site)s: %(missing)s of %(wanted)s plants missing",
                season=season_name(line.season),
                species=line.species_name,
                site=line.site_name,
                missing=format_number(line.shortfall),
                wanted=format_number(line.plants_to_plant),
            )
            for line in lines
        ]
    )


def _forecast(session: Session, plan: Plan) -> Iterator[str]:
    # A late line gives nothing; a short one what its seed in hand gives.
    share = (PlanLine.plants_to_plant - PlanLine.shortfall) * 1.0 / func.nullif(PlanLine.plants_to_plant, 0)
    expected = case(
        (PlanLine.status == LineStatus.LATE, 0.0),
        (PlanLine.status == LineStatus.SHORT, PlanLine.expected * share),
        else_=PlanLine.expected,
    )
    rows = session.execute(
        select(PlanLine.season, func.sum(expected), func.sum(PlanLine.plants_to_plant))
        .where(PlanLine.plan_id == plan.id)
        .group_by(PlanLine.season)
        .order_by(PlanLine.season)
    ).all()
    yield _("Ready plants expected, once all is collected, against plants to plant")
    for season, expected, wanted in rows:
        yield f"  {season_name(season)}  {format_number(round(expected))} / {format_number(wanted)}"


def season_name(year: int) -> str:
    """2027 as 2027/28."""
    return f"{year}/{(year + 1) % 100:02d}"


def _listed(texts: Sequence[str]) -> Iterator[str]:
    if not texts:
        yield "  " + _("Nothing.")
    for text in texts[:ROWS]:
        yield f"  {text}"
    if len(texts) > ROWS:
        more = len(texts) - ROWS
        yield "  " + ngettext("and %(num)s more", "and %(num)s more", more)

"""Which papers travel with a load or with seed, each with its reason in a sentence, and which do not and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.catalog.law import PaperRule
from nursery.catalog.law_words import BASIS_LABELS, NOTICES, REASONS
from nursery.i18n import gettext as _
from nursery.models import Dispatch, Lot, Paper, Recipient, Site
from nursery.models.movements import Measure
from nursery.models.papers import PaperKind
from nursery.services.papers.consignments import (
    Consignment,
    Part,
    consign_load,
    consign_loads,
    consign_seed,
    rules_day,
)
from nursery.services.papers.rulings import WHERE as RULING_WHERE
from nursery.services.papers.rulings import ruling_text
from nursery.services.papers.truth import untrue
from nursery.services.papers.words import FOREST
from nursery.services.papers.zones import zone_note
from nursery.services.preferences import read_preferences

#: In the order in which they are drawn up: labels bear the number of their document.
_KINDS = {
    "plants": (PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE),
    "seed": (PaperKind.SEED_DOCUMENT, PaperKind.SEED_LABEL, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE),
}


@dataclass(frozen=True)
class Verdict:
    """What is said of one kind of paper."""

    kind: PaperKind
    applies: bool
    reason: str
    #: How that is known, and where it is written.
    basis: str
    where: str
    #: Each part has a paper of its own; empty for a paper of all that travels.
    parts: tuple[Part, ...] = ()


def papers_for(session: Session, dispatch: Dispatch, day: dt.date) -> list[Verdict]:
    """What is said of every paper of a load on a day: those that apply first."""
    return judge(consign_load(session, dispatch, day))


def papers_for_seed(
    session: Session, lot: Lot, *, recipient: Recipient | None, measure: Measure, amount: int, day: dt.date
) -> list[Verdict]:
    """The same of seed (or cuttings) of a lot."""
    return judge(consign_seed(session, lot, recipient=recipient, measure=measure, amount=amount, day=day))


def judge(consignment: Consignment) -> list[Verdict]:
    """What is said of every paper, those that apply first."""
    found = [verdict for kind in _KINDS[consignment.goods] for verdict in _verdicts(consignment, kind)]
    return sorted(found, key=lambda verdict: not verdict.applies)


@dataclass(frozen=True)
class Lacking:
    """A paper that applies and is not there, or is there and says something else than what travels."""

    verdict: Verdict
    part: Part | None
    #: The one in force, and why it does not count.
    paper: Paper | None = None
    told: str = ""


def lacking(session: Session, dispatch: Dispatch, day: dt.date) -> list[Lacking]:
    """Papers that apply to a load and were not drawn up yet, or are true no longer, part by part."""
    consignment = consign_load(session, dispatch, day)
    drawn = drawn_keys(session, dispatch_id=dispatch.id)
    numbers, own = {paper.number for paper in drawn.values()}, consignment.preferences
    told = {key: untrue(paper, consignment, numbers, own) for key, paper in drawn.items()}
    wanted = [
        (verdict, part, (verdict.kind, part.key if part else ""))
        for verdict in judge(consignment)
        if verdict.applies
        for part in verdict.parts or (None,)
    ]
    return [
        Lacking(verdict, part, drawn.get(key), told.get(key, ""))
        for verdict, part, key in wanted
        if told.get(key, "-")
    ]


def doubt(session: Session, paper: Paper, today: dt.date) -> str:
    """Why a paper in force says no longer what travels; empty while it does, and for a void one."""
    return doubts(session, [paper], today).get(paper.id, "")


def doubts(session: Session, papers: Sequence[Paper], today: dt.date) -> dict[int, str]:
    """The same of many papers, by id; those that are true are left out. A fixed number of queries."""
    papers = [paper for paper in papers if paper.voided_at is None]
    loads = session.scalars(
        select(Dispatch)
        .where(Dispatch.id.in_({paper.dispatch_id for paper in papers}))
        .options(joinedload(Dispatch.recipient), joinedload(Dispatch.site).joinedload(Site.recipient))
    ).all()
    consigned = consign_loads(session, {load: rules_day(load, today) for load in loads})
    documents = {paper.particulars.get("document", "") for paper in papers}
    numbers = set(
        session.scalars(select(Paper.number).where(Paper.number.in_(documents), Paper.voided_at.is_(None)))
    )
    own = read_preferences(session)
    found = {paper.id: untrue(paper, consigned.get(paper.dispatch_id or 0), numbers, own) for paper in papers}
    return {paper_id: told for paper_id, told in found.items() if told}


def drawn_keys(
    session: Session, *, dispatch_id: int | None = None, act: str = ""
) -> dict[tuple[PaperKind, str], Paper]:
    """Papers in force of a load, or of an act of the seed ledger, by kind and part; the newest of each."""
    if dispatch_id is None and not act:
        return {}
    where = Paper.dispatch_id == dispatch_id if dispatch_id is not None else Paper.act == act
    rows = session.scalars(select(Paper).where(where, Paper.voided_at.is_(None)).order_by(Paper.id))
    return {(paper.kind, paper.particulars.get("part", "")): paper for paper in rows}


def notices(consignment: Consignment) -> list[str]:
    """What is to be told of the rules in use on the day."""
    regimes = dict.fromkeys(
        rule.regime
        for kind in _KINDS[consignment.goods]
        for part in consignment.parts
        if (rule := _rule(consignment, kind, part)) is not None and rule.regime
    )
    return [
        str(NOTICES[notice.key])
        for regime in regimes
        for notice in consignment.law.notices_on(regime, consignment.day)
    ]


def _verdicts(consignment: Consignment, kind: PaperKind) -> list[Verdict]:
    """One verdict for each rule that speaks of the kind; parts of one rule stand together."""
    if kind not in FOREST:
        part = consignment.parts[0] if consignment.parts else None
        return [_verdict(consignment, kind, _rule(consignment, kind, part), ())]
    by_rule: dict[PaperRule | None, list[Part]] = {}
    for part in consignment.parts:
        by_rule.setdefault(_rule(consignment, kind, part), []).append(part)
    return [_verdict(consignment, kind, rule, tuple(parts)) for rule, parts in by_rule.items()]


def _rule(consignment: Consignment, kind: PaperKind, part: Part | None) -> PaperRule | None:
    goods = consignment.goods
    if kind is PaperKind.PASSPORT and part is not None and part.is_cuttings:
        goods = "plants"  # cuttings are plants for planting
    status = "regulated" if part is not None and part.regulated else "free"
    return consignment.law.paper_rule(
        kind.value, goods, status, consignment.who.value, consignment.country, consignment.day
    )


def _verdict(
    consignment: Consignment, kind: PaperKind, rule: PaperRule | None, parts: tuple[Part, ...]
) -> Verdict:
    if rule is None:
        told = _(
            "No rules of %(country)s are known here. Ask your authority which papers travel.",
            country=consignment.country or "–",
        )
        return Verdict(kind, applies=False, reason=told, basis="", where="", parts=parts)
    basis = str(BASIS_LABELS[rule.basis])
    if kind in FOREST and rule.applies and consignment.ruling is not None:
        seen = str(BASIS_LABELS["seen"])
        return Verdict(kind, False, ruling_text(consignment.ruling), seen, RULING_WHERE, parts)
    if kind in FOREST and rule.applies and consignment.is_exported:
        told = _(
            "It leaves the European Union, and the Directive leaves exports out. Ask both countries’ authorities."
        )
        return Verdict(kind, False, told, basis, "RD 289/2003 art. 1", parts)
    reason = str(REASONS[rule.reason])
    if kind is PaperKind.PASSPORT and (told := zone_note(consignment)):
        reason += " " + told
    if kind in FOREST and not consignment.country:
        reason += " " + _("No country is written down in the settings, so the European Union’s list was read.")
    return Verdict(kind, rule.applies, reason, basis, rule.where, parts)

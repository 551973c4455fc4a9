"""The list of papers, and how long they are kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from nursery.i18n import lazy as _l
from nursery.models import Dispatch, Lot, Paper, Recipient
from nursery.models.papers import PaperKind
from nursery.services.listing import Column, Filter, Listing, choice_options
from nursery.services.papers.applying import doubts
from nursery.services.papers.words import KIND_LABELS

#: Papers looked at together.
_PORTION = 500
#: What the address says of a list of papers that are true no longer.
UNTRUE = "no"


class State(StrEnum):
    """How far a paper has come."""

    DRAFT = "draft"
    SIGNED = "signed"
    VOID = "void"


STATE_LABELS = {State.DRAFT: _l("draft"), State.SIGNED: _l("signed"), State.VOID: _l("void")}
STATE_TONES = {State.DRAFT: "waiting", State.SIGNED: "ok", State.VOID: "stop"}
_STATE = case(
    (Paper.voided_at.is_not(None), State.VOID.value),
    (Paper.signed_by != "", State.SIGNED.value),
    else_=State.DRAFT.value,
)

LISTING = Listing(
    model=Paper,
    order="-issued_on",
    joins=lambda query: (
        query.outerjoin(Dispatch, Paper.dispatch_id == Dispatch.id)
        .outerjoin(Lot, Paper.lot_id == Lot.id)
        .outerjoin(Recipient, Paper.recipient_id == Recipient.id)
    ),
    columns=(
        Column("number", _l("Number"), Paper.number, "code", link=("papers.detail", Paper.id)),
        Column("kind", _l("Paper"), Paper.kind, "choice", choices=KIND_LABELS),
        Column("issued_on", _l("Drawn up"), Paper.issued_on, "date"),
        Column("state", _l("State"), _STATE, "choice", choices=STATE_LABELS, nullable=False),
        Column("signed_by", _l("Signed by"), Paper.signed_by),
        Column("signed_on", _l("Signed on"), Paper.signed_on, "date", on_screen=False),
        Column("load", _l("Load"), Dispatch.code, "code", nullable=True),
        Column("lot", _l("Lot"), Lot.code, "code", link=("lots.detail", Lot.id), nullable=True),
        Column("recipient", _l("Recipient"), Recipient.name, nullable=True),
        Column("regime", _l("Rules"), Paper.regime, on_screen=False),
        Column("keep_until", _l("Kept until"), Paper.keep_until, "date"),
        Column("void_reason", _l("Why it is void"), Paper.void_reason, on_screen=False),
    ),
    search=(Paper.number, Dispatch.code, Lot.code, Recipient.name, Paper.signed_by),
    filters=(
        Filter("kind", _l("Paper"), Paper.kind, choice_options(KIND_LABELS), parse=PaperKind),
        Filter("state", _l("State"), _STATE, choice_options(STATE_LABELS), parse=lambda text: State(text).value),
    ),
)


@lru_cache(maxsize=4)
def list_of(ids: frozenset[int]) -> Listing:
    """The list, narrowed on asking to papers that are true no longer; ``ids`` are theirs."""
    truth = case((Paper.id.in_(ids), UNTRUE), else_="")
    asked = Filter("truth", _l("Still true"), truth, choice_options({UNTRUE: _l("no longer true")}))
    return replace(LISTING, filters=(*LISTING.filters, asked))


def untrue_of(session: Session, ids: Collection[int], today: dt.date) -> dict[int, str]:
    """Why papers are true no longer, by id; of those that are, nothing."""
    return doubts(session, session.scalars(select(Paper).where(Paper.id.in_(ids))).all(), today)


def all_untrue(session: Session, today: dt.date) -> dict[int, str]:
    """The same of every paper in force, read in portions."""
    found: dict[int, str] = {}
    after = 0
    query = select(Paper).where(Paper.voided_at.is_(None)).order_by(Paper.id).limit(_PORTION)
    while papers := session.scalars(query.where(Paper.id > after)).all():
        found |= doubts(session, papers, today)
        after = papers[-1].id
    return found


@dataclass(frozen=True, slots=True)
class Kept:
    """Papers on record: how many, the oldest, and how many are past the day until which they are kept."""

    papers: int
    oldest: dt.date | None
    until: dt.date | None
    over: int


def kept(session: Session, today: dt.date) -> Kept:
    """What is kept, in one query."""
    over = func.coalesce(func.sum(case((Paper.keep_until < today, 1), else_=0)), 0)
    row = session.execute(
        select(func.count(Paper.id), func.min(Paper.issued_on), func.max(Paper.keep_until), over)
    ).one()
    return Kept(row[0], row[1], row[2], int(row[3]))


def state_of(paper: Paper) -> State:
    """How far a paper has come."""
    if paper.voided_at is not None:
        return State.VOID
    return State.SIGNED if paper.signed_by else State.DRAFT


def papers_of(session: Session, *, dispatch_id: int | None = None, lot_id: int | None = None) -> Sequence[Paper]:
    """All papers of a load or a lot, newest first, the void ones among them."""
    where = Paper.dispatch_id == dispatch_id if dispatch_id is not None else Paper.lot_id == lot_id
    return session.scalars(select(Paper).where(where).order_by(Paper.id.desc())).all()

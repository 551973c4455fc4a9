"""Whether a paper still says what travels: a load changes after its papers were drawn up, papers never."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from nursery.i18n import gettext as _
from nursery.models import DispatchLine, Paper, Preferences
from nursery.models.dispatches import DispatchStatus
from nursery.models.papers import PaperKind
from nursery.services.batches.words import plants_text
from nursery.services.papers.consignments import Consignment, Part, plants_of
from nursery.services.papers.parties import RECIPIENT, parties_of
from nursery.services.papers.stock import units_of
from nursery.services.papers.words import LABELS


def told_of(kind: PaperKind, consignment: Consignment, part: Part | None) -> dict[str, int]:
    """What a paper of plants says of each batch by its code: plants, or copies of a passport."""
    many = units_of if kind is PaperKind.PASSPORT else plants_of
    told: dict[str, int] = {}
    for line in lines_of(consignment, part):
        told[line.batch.code] = told.get(line.batch.code, 0) + many(line)
    return told


def lines_of(consignment: Consignment, part: Part | None) -> Sequence[DispatchLine]:
    """Lines of the load that a paper speaks of."""
    return part.lines if part else [line for one in consignment.parts for line in one.lines]


def untrue(paper: Paper, consignment: Consignment | None, in_force: Collection[str], own: Preferences) -> str:
    """Why a paper in force is true no longer, as a sentence; empty while it is.

    ``in_force`` are the numbers of papers that were not made void, ``own`` is what the settings say of the house.
    """
    load = consignment.dispatch if consignment is not None else None
    if load is not None and load.status is DispatchStatus.CANCELLED:
        return _("No longer true: the load was cancelled.")
    told = _of_load(paper, consignment) if consignment is not None and consignment.goods == "plants" else None
    if told is not None:
        says, has = told
        return _("No longer true: it says %(told)s, the load has %(now)s.", told=says, now=has)
    document = paper.particulars.get("document", "")
    if paper.kind in LABELS and document not in in_force:
        return _("No longer true: its document %(number)s is void.", number=document)
    return _renamed(paper, consignment, own)


def _renamed(paper: Paper, consignment: Consignment | None, own: Preferences) -> str:
    """Whose name, address or number the paper has otherwise than the records have it now."""
    if _has_travelled(paper, consignment):
        return ""
    load = consignment.dispatch if consignment is not None else None
    taker = consignment.recipient if consignment is not None and load is not None else paper.recipient
    said: Mapping[str, list[str]] = paper.particulars.get("parties", {})
    for field, now in parties_of(own, taker, list(said)).items():
        # Of seed given to somebody whom no record names, the paper alone knows the name.
        if said[field] != now and (field != RECIPIENT or now):
            return _(
                "No longer true: it names “%(told)s”, on record is “%(now)s”.",
                told=", ".join(filter(None, said[field])) or "–",
                now=", ".join(filter(None, now)) or "–",
            )
    return ""


def _has_travelled(paper: Paper, consignment: Consignment | None) -> bool:
    """Whether it was signed and what it speaks of has left: from then on it says how things were that day."""
    load = consignment.dispatch if consignment is not None else None
    return bool(paper.signed_by) and (load is None or load.sent_on is not None)


def _of_load(paper: Paper, consignment: Consignment) -> tuple[str, str] | None:
    """What the paper says and what the load has, where they differ."""
    said: Mapping[str, int] | None = paper.particulars.get("told")
    key = paper.particulars.get("part", "")
    part = consignment.part(key) if key else None
    now = {} if key and part is None else told_of(paper.kind, consignment, part)
    if said is not None and said != now:
        if paper.kind is PaperKind.PASSPORT:
            return _listed(said), _listed(now)
        if sum(said.values()) != sum(now.values()):
            return plants_text(sum(said.values())), plants_text(sum(now.values()))
        return _listed(said), _listed(now)
    if _has_travelled(paper, consignment):
        return None
    taker = consignment.recipient
    if paper.kind is PaperKind.PASSPORT or paper.recipient_id == (taker.id if taker else None):
        return None
    own = _("Our own crew")
    return paper.recipient.name if paper.recipient else own, taker.name if taker else own


def _listed(told: Mapping[str, int]) -> str:
    return ", ".join(f"{code} × {many}" for code, many in told.items()) or "–"

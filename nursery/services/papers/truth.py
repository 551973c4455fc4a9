"""Whether a paper still says what travels: a load changes after its papers were drawn up, papers never."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import DispatchLine, Paper, Preferences
from nursery.models.dispatches import DispatchStatus
from nursery.models.papers import PaperKind
from nursery.services.batches.words import plants_text, trays_text
from nursery.services.dispatches.trays import plants_of
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.parties import RECIPIENT, parties_of
from nursery.services.papers.stock import units_of
from nursery.services.papers.words import LABELS


def told_of(kind: PaperKind, consignment: Consignment, part: Part | None) -> dict[str, int]:
    """What a paper of plants says of each batch by its code: plants, or copies of a passport."""
    told: dict[str, int] = {}
    for one in (part,) if part else consignment.parts:
        for line in one.lines:
            many = units_of(one, line) if kind is PaperKind.PASSPORT else plants_of(line)
            told[line.batch.code] = told.get(line.batch.code, 0) + many
    return told


def trays_told(consignment: Consignment, part: Part | None) -> dict[str, int]:
    """Trays of each batch that stands in any, by its code."""
    told: dict[str, int] = {}
    for one in (part,) if part else consignment.parts:
        for line in one.lines:
            if (trays := one.trays[line.id]) is not None:
                told[line.batch.code] = told.get(line.batch.code, 0) + trays
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
    if consignment is not None and (of_ruling := _of_ruling(paper, consignment)):
        return of_ruling
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
    gone = bool(key) and part is None
    now = {} if gone else told_of(paper.kind, consignment, part)
    if said is not None and said != now:
        return (
            (_listed(said), _listed(now)) if paper.kind is PaperKind.PASSPORT else _apart(said, now, plants_text)
        )
    # Passports, and papers of before trays were kept, tell of none.
    trays: Mapping[str, int] | None = paper.particulars.get("trays")
    stand = {} if gone else trays_told(consignment, part)
    if trays is not None and trays != stand:
        return _apart(trays, stand, trays_text)
    if _has_travelled(paper, consignment):
        return None
    taker = consignment.recipient
    if paper.kind is PaperKind.PASSPORT or paper.recipient_id == (taker.id if taker else None):
        return None
    own = _("Our own crew")
    return paper.recipient.name if paper.recipient else own, taker.name if taker else own


def _of_ruling(paper: Paper, consignment: Consignment) -> str:
    """Whether a delivery note says otherwise than rulings do whether the planting is for forestry."""
    if paper.kind is not PaperKind.DELIVERY_NOTE or _has_travelled(paper, consignment):
        return ""
    said, now = paper.particulars.get("ruling"), consignment.ruling
    if said == (now.id if now else None):
        return ""
    if now is None:
        return _("No longer true: the ruling by which the planting is not for forestry was withdrawn.")
    return _(
        "No longer true: it does not say that the planting is not for forestry, as was ruled on %(day)s.",
        day=format_date(now.ruled_on),
    )


def _apart(said: Mapping[str, int], now: Mapping[str, int], worded: Callable[[int], str]) -> tuple[str, str]:
    """Both sums; where these agree, batch by batch."""
    whole = [worded(sum(one.values())) for one in (said, now)]
    if whole[0] == whole[1]:
        whole = [f"{text} ({_listed(one)})" for text, one in zip(whole, (said, now), strict=True)]
    return whole[0], whole[1]


def _listed(told: Mapping[str, int]) -> str:
    return ", ".join(f"{code} × {many}" for code, many in told.items()) or "–"

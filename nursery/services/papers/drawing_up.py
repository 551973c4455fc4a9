"""Drawing papers up: everything printed is frozen, in the language of the paper."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from nursery.catalog.law_words import COLOUR_LABELS, NOTICES
from nursery.errors import Conflict, Invalid
from nursery.i18n import format_date, format_number, locale_of
from nursery.i18n import gettext as _
from nursery.models import DispatchLine, Paper
from nursery.models.dispatches import DispatchStatus
from nursery.models.papers import PaperKind
from nursery.services import auditing
from nursery.services.codes import next_code
from nursery.services.dispatches.trays import counts_in_trays, keep_trays, plants_of
from nursery.services.health.quarantine import refusal, standing_quarantines
from nursery.services.ledger.words import amount_text
from nursery.services.papers import identity, supply
from nursery.services.papers.cases import Case, Particular, Stated, make_case
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.particulars import Section, gather, missing
from nursery.services.papers.parties import parties_of
from nursery.services.papers.rulings import note_text
from nursery.services.papers.sources import Sources, read_sources
from nursery.services.papers.stock import container_text
from nursery.services.papers.truth import lines_of, told_of, trays_told
from nursery.services.papers.words import DOCUMENTS, FOREST, KIND_LABELS, LABELS, PREFIXES

#: Labels or passports on one paper; more are drawn up in parts.
MOST_COPIES = 2000


@dataclass(frozen=True)
class Preview:
    """A paper as it would be, and what stops it."""

    case: Case
    sections: Sequence[Section]
    missing: Sequence[Particular]


def preview(
    session: Session, kind: PaperKind, consignment: Consignment, part: Part | None, stated: Stated, *,
    number: str = "", sources: Sources | None = None,
) -> Preview:  # fmt: skip
    """What a paper would say, in the language now in force."""
    read = sources or read_sources(session, consignment)
    case = make_case(kind, consignment, part, stated, read, number=number)
    sections = gather(case)
    return Preview(case, sections, missing(case, sections))


def draw_up(
    session: Session, actor: str, *, kind: PaperKind, consignment: Consignment, part: Part | None, stated: Stated,
    language: str, today: dt.date,
) -> Paper:  # fmt: skip
    """Write a paper down as a draft; it stays as it is from then on.

    Raises
    ------
    Invalid
        Naming each particular that is missing.
    Conflict
        When the load was cancelled, has such a paper in force already, or a batch of it is in quarantine.
    """
    load = consignment.dispatch
    if load is not None and load.status is DispatchStatus.CANCELLED:
        raise Conflict(_("The load was cancelled: no paper travels with it."))
    if not consignment.parts:
        raise Invalid({"content": _("Nothing travels yet. Write down what is to be loaded first.")})
    refuse_held(session, consignment, part)
    key = part.key if part else ""
    sources = read_sources(session, consignment)
    before = sources.drawn.get((kind, key))
    if before is not None:
        raise Conflict(
            _("%(number)s is in force already. Make it void first, with a reason.", number=before.number)
        )
    found = preview(session, kind, consignment, part, stated, sources=sources)
    refused = {row.field: f"{row.label}: {row.missing}" for row in found.missing}
    if refused:
        raise Invalid(refused)
    number = next_code(session, Paper.number, f"{PREFIXES[kind]}-{today.year}-")
    with locale_of(language):
        made = preview(session, kind, consignment, part, stated, number=number, sources=sources)
        printed = _printed(made, key)
    rule = consignment.law.fields(kind.value, consignment.country, consignment.day)[0]
    paper = Paper(
        number=number, kind=kind, dispatch_id=load.id if load else None,
        lot_id=part.lots[0].id if part and len(part.lots) == 1 else _first_lot(consignment), act=consignment.act,
        recipient_id=consignment.recipient.id if consignment.recipient else None,
        regime=rule.regime, regime_from=rule.valid_from if rule.regime else None, language=language,
        particulars=printed, issued_on=today, person=actor,
        keep_until=years_on(today, consignment.preferences.records_years),
    )  # fmt: skip
    session.add(paper)
    keep_trays(lines_of(consignment, part) if load is not None else ())
    auditing.record(session, actor, action="drawn up", row=paper, details={"number": [None, number]})
    return paper


def refuse_held(session: Session, consignment: Consignment, part: Part | None) -> None:
    """``Conflict`` where plants that are still to leave stand in quarantine."""
    for told in held_back(session, consignment, part).values():
        raise Conflict(told)


def held_back(session: Session, consignment: Consignment, part: Part | None = None) -> dict[int, str]:
    """Why batches of a load that has not left may not leave, by id of the batch."""
    load = consignment.dispatch
    if load is None or load.status is not DispatchStatus.PLANNED:
        return {}
    held = standing_quarantines(session, [line.batch_id for line in lines_of(consignment, part)])
    return {batch_id: refusal(row) for batch_id, row in held.items()}


def years_on(day: dt.date, years: int) -> dt.date:
    """The same day so many years later; the last of February where there is no 29th."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def _first_lot(consignment: Consignment) -> int | None:
    return None if consignment.dispatch is not None else consignment.parts[0].lots[0].id


def _printed(made: Preview, key: str) -> dict[str, Any]:
    """Everything the paper prints, as JSON holds it."""
    case = made.case
    consignment, kind = case.consignment, case.kind
    printed: dict[str, Any] = {
        "part": key,
        "told": told_of(kind, consignment, case.part) if consignment.goods == "plants" else None,
        "trays": trays_told(consignment, case.part) if _tells_trays(kind, consignment) else None,
        "parties": parties_of(
            consignment.preferences, consignment.recipient,
            [row.field for section in made.sections for row in section.rows],
        ),
        "title": str(KIND_LABELS[kind]),
        "sections": [
            {
                "key": section.key, "title": section.title,
                "rows": [[row.field, row.label, row.value] for row in section.rows],
            }
            for section in made.sections
        ],
        "rules": _rules(case),
        "notices": [
            str(NOTICES[notice.key])
            for notice in consignment.law.notices_on(_regime(case), consignment.day)
        ],
        "ruling": consignment.ruling.id if consignment.ruling else None,
    }  # fmt: skip
    if kind in FOREST:
        word = identity.category_word(case)
        category = identity.category(case)[0]
        colour = str(COLOUR_LABELS[word])
        printed |= {
            "category": word,
            "category_text": _("%(category)s (%(colour)s)", category=category, colour=colour),
        }
    if kind in DOCUMENTS:
        printed["labels"] = supply.label_count(case)
    if kind in LABELS:
        printed["count"] = min(supply.label_count(case), MOST_COPIES)
        printed["each"] = supply.each_label(case)[:MOST_COPIES]
        printed["document"] = case.document.number if case.document else ""
        printed["code"] = ", ".join(lot.code for lot in case.its_part.lots)
    if kind is PaperKind.PASSPORT:
        member = consignment.law.member(consignment.country, consignment.day)
        printed |= {"official_title": member.passport_title if member else "", "passports": _passports(case)}
        printed |= {"zone": " ".join(case.stated.protected_zone.split())}
    if kind is PaperKind.DELIVERY_NOTE:
        printed["lines"] = _lines(consignment)
        if consignment.ruling is not None:
            printed["notices"].append(note_text(consignment.ruling))
    return printed


def _tells_trays(kind: PaperKind, consignment: Consignment) -> bool:
    return consignment.goods == "plants" and kind is not PaperKind.PASSPORT


def _regime(case: Case) -> str:
    fields = case.consignment.law.fields(case.kind.value, case.consignment.country, case.consignment.day)
    return fields[0].regime if fields else ""


def _rules(case: Case) -> str:
    regime = case.consignment.law.regime(_regime(case))
    if regime is None:
        return ""
    return _(
        "Drawn up after %(act)s, by rules that hold from %(day)s on.",
        act=regime.name,
        day=format_date(regime.valid_from),
    )


def _passports(case: Case) -> list[dict[str, Any]]:
    operator, country = supply.passport_b(case)[0], supply.passport_d(case)[0]
    return [
        {"a": unit.name, "b": operator, "c": unit.code, "d": country, "count": min(unit.count, MOST_COPIES)}
        for unit in supply.trade_units(case)
    ]


def _lines(consignment: Consignment) -> list[list[str]]:
    """Species, code, container and trays, and how much."""
    if consignment.goods == "seed":
        amount = amount_text(consignment.measure, consignment.amount)
        return [
            [part.species.scientific_name, lot.code, "", amount] for part in consignment.parts for lot in part.lots
        ]
    lines = [
        (line.position, part.species.scientific_name, line.batch.code, _stands(line, part), plants_of(line))
        for part in consignment.parts
        for line in part.lines
    ]
    return [[name, code, stands, format_number(plants)] for _place, name, code, stands, plants in sorted(lines)]


def _stands(line: DispatchLine, part: Part) -> str:
    held = container_text((line,))
    if not counts_in_trays(line.batch):
        return held
    trays = part.trays[line.id]
    told = _("not written down") if trays is None else format_number(trays) if trays else _("none")
    return _("%(container)s; trays: %(trays)s", container=held, trays=told)

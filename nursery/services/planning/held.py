"""What holds a line that is short of seed, in sentences."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Draw, Lot, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.words import Method
from nursery.services.origin.words import rule_label

#: Sites named of those that use a lot up.
NAMED_SITES = 3
_LOTS_IN_TEXT = {"used-up", "forbidden"}


@dataclass(frozen=True)
class LotNames:
    """Codes of lots by their ids, and where the plan uses them: lines with their sites, the largest draw first."""

    codes: Mapping[int, str] = field(default_factory=dict)
    users: Mapping[int, Sequence[tuple[int, str]]] = field(default_factory=dict)


def read_held(session: Session, lines: Sequence[PlanLine]) -> dict[int, list[str]]:
    """What holds each line of one plan by its id, in at most two queries; lines with seed enough are left out."""
    held = [line for line in lines if line.seeds_missing and line.status != LineStatus.LATE]
    names = _names(session, held)
    return {
        line.id: [tell_held(line, found, names) for found in line.bottleneck or ()] or [_nothing_more(line)]
        for line in held
    }


def _nothing_more(line: PlanLine) -> str:
    if line.mix is None:
        return _("Of the lots in hand none may go here and lives until the sowing.")
    return _("All seed in hand that may go here is drawn already.")


def shortest_lines(session: Session, plan_id: int, limit: int = 6) -> Sequence[PlanLine]:
    """Lines that lack seed and could still be in time, those that lack most plants first."""
    return session.scalars(
        select(PlanLine)
        .where(PlanLine.plan_id == plan_id, PlanLine.seeds_missing > 0, PlanLine.status != LineStatus.LATE)
        .order_by(PlanLine.shortfall.desc(), PlanLine.id)
        .limit(limit)
    ).all()


def tell_held(line: PlanLine, found: Mapping[str, Any], names: LotNames) -> str:
    """One finding of `nursery.planning.plan_relief.find_relief` as a sentence."""
    number = round(found["number"] or 0)
    match found["code"]:
        case "no-lot":
            if line.method == Method.CUTTINGS:
                return _("No cuttings of this species are in hand.")
            return _("No lot of this species is in hand.")
        case "used-up":
            return _used_up(line, int(found["text"]), number, names)
        case "rule":
            return ngettext(
                "The rule “%(rule)s” alone keeps lots away: without it %(num)s more ready plant would come of the"
                " seed in hand.",
                "The rule “%(rule)s” alone keeps lots away: without it %(num)s more ready plants would come of the"
                " seed in hand.",
                number, rule=rule_label(found["text"]),
            )  # fmt: skip
        case "forbidden":
            return ngettext(
                "A person forbade lots here (%(lots)s): without that %(num)s more ready plant would come.",
                "A person forbade lots here (%(lots)s): without that %(num)s more ready plants would come.",
                number, lots=", ".join(names.codes.get(int(each), each) for each in found["text"].split()),
            )  # fmt: skip
        case code:
            return _COUNTED[code](number)


#: Findings that only count lots.
_COUNTED = {
    "several-rules": lambda n: ngettext(
        "%(num)s lot is kept away by several rules at once.",
        "%(num)s lots are kept away by several rules at once, each of them.", n,
    ),
    "held": lambda n: ngettext(
        "%(num)s lot is on hold until its papers are in order.",
        "%(num)s lots are on hold until their papers are in order.", n,
    ),
    "dies": lambda n: ngettext(
        "%(num)s lot of the right origin will not live until the sowing.",
        "%(num)s lots of the right origin will not live until the sowing.", n,
    ),
    "lost": lambda n: ngettext(
        "%(num)s lot of the right origin was killed in store.",
        "%(num)s lots of the right origin were killed in store.", n,
    ),
}  # fmt: skip


def _used_up(line: PlanLine, lot_id: int, number: int, names: LotNames) -> str:
    others = list(dict.fromkeys(site for line_id, site in names.users.get(lot_id, ()) if line_id != line.id))
    sites = ", ".join(others[:NAMED_SITES])
    if len(others) > NAMED_SITES:
        sites = _("%(sites)s and others", sites=sites)
    return ngettext(
        "Lot %(lot)s is used up by other lines (%(sites)s): what they take is worth %(plants)s ready plant here.",
        "Lot %(lot)s is used up by other lines (%(sites)s): what they take is worth %(plants)s ready plants here.",
        number, lot=names.codes.get(lot_id, str(lot_id)), sites=sites or line.site_name,
        plants=format_number(number),
    )  # fmt: skip


def _names(session: Session, lines: Iterable[PlanLine]) -> LotNames:
    plans: set[int] = set()
    lots: set[int] = set()
    for line in lines:
        plans.add(line.plan_id)
        for found in line.bottleneck or ():
            if found["code"] in _LOTS_IN_TEXT:
                lots.update(int(each) for each in found["text"].split())
    if not lots:
        return LotNames()
    codes = {row.id: row.code for row in session.execute(select(Lot.id, Lot.code).where(Lot.id.in_(lots)))}
    users: defaultdict[int, list[tuple[int, str]]] = defaultdict(list)
    draws = session.execute(
        select(Draw.lot_id, PlanLine.id, PlanLine.site_name)
        .join(Draw.line)
        .where(Draw.lot_id.in_(lots), PlanLine.plan_id.in_(plans))
        .order_by(Draw.seeds.desc(), Draw.id)
    )
    for lot_id, line_id, site in draws:
        users[lot_id].append((line_id, site))
    return LotNames(codes, users)

"""Moves of a levelling in words."""

from __future__ import annotations

from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.batches.words import trays_text
from nursery.services.space.moves import Move
from nursery.services.space.occupancy import Place


def what_to_do(move: Move) -> list[str]:
    """Sentences that say what would be done."""
    if move.is_dropped:
        return [
            _(
                "There is no room for it whatever is shifted: leave it out, sow it smaller, or find more bench."
                " %(trays)s stay unsown.",
                trays=trays_text(move.item.trays),
            )
        ]
    found = []
    if move.plant_on is not None and move.line is not None:
        found.append(
            _(
                "Plant on %(day)s instead of %(was)s; sowing then falls on %(sow)s.",
                day=format_date(move.plant_on),
                was=format_date(move.line.row.plant_on),
                sow=format_date(move.sow_on),
            )
        )
    found += [_stand(move, place, trays) for place, trays in move.stands if place != move.home]
    return found


def _stand(move: Move, place: Place, trays: int) -> str:
    names = {
        "trays": format_number(trays),
        "all": trays_text(move.item.trays),
        "home": move.home.name,
        "place": place.name,
    }
    if move.line is None:
        return _("Move %(trays)s of %(all)s from %(home)s to %(place)s.", **names)
    return _("Sow %(trays)s of %(all)s at %(place)s, which has the same container, not at %(home)s.", **names)


def what_it_costs(move: Move) -> str:
    """The cost of a move: plants lost, days of planting later or earlier, trays carried."""
    if move.is_dropped:
        lost = ngettext("%(num)s plant missing", "%(num)s plants missing", move.item.plants)
        return _("%(lost)s, priority %(priority)s", lost=lost, priority=move.item.priority)
    if move.days > 0:
        return ngettext("planted %(num)s day later", "planted %(num)s days later", move.days)
    if move.days < 0:
        return ngettext("planted %(num)s day earlier", "planted %(num)s days earlier", -move.days)
    carried = sum(trays for place, trays in move.stands if place != move.home)
    if move.line is None:
        return ngettext("%(num)s tray to carry", "%(num)s trays to carry", carried)
    return ngettext("%(num)s tray elsewhere", "%(num)s trays elsewhere", carried)


def how(move: Move) -> str:
    """Whether it is taken over with a click, or is advice that only a person can follow."""
    if move.is_dropped:
        return _("Advice: archive the target, or lower its plants.")
    if move.is_shift and move.stands:
        return _("The planting day is taken over; which trays go where is advice.")
    if move.is_shift:
        return _("Taken over: the planting day is pinned on the target.")
    if move.line is None:
        return _("Advice: carry the trays and note it at the batch.")
    return _("Advice: a target has one container. Split the target, or choose the other nursery's container.")

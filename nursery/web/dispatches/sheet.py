"""The words of a printed pick list."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.documents.pages import Head
from nursery.documents.pick_list import PickSheet
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.models import Dispatch, DispatchLine
from nursery.models.dispatches import DispatchStatus
from nursery.services.dispatches.picking import Pick, loading_order
from nursery.services.dispatches.stopping import Stops
from nursery.services.dispatches.sums import has_left
from nursery.services.dispatches.trays import all_trays, plants_of, trays_by_line


def sheet_of(load: Dispatch, picks: Sequence[Pick], stops: Stops) -> PickSheet:
    """Everything that is printed."""
    number, trays = format_number, trays_by_line(load.lines)
    return PickSheet(
        title=_("Pick list %(load)s", load=load.code),
        foot=_("%(load)s · %(site)s", load=load.code, site=load.site.name),
        facts=[
            (_("Planting site"), f"{load.site.code} · {load.site.name}"),
            (_("Planned for"), format_date(load.planned_on)),
            (_("Taken over by"), load.recipient.name if load.recipient else _("our own crew")),
            (_("Vehicle"), load.vehicle),
            (_("Driver"), load.driver),
        ],
        stops=[*([gone] if (gone := gone_text(load)) else []), *stops.sentences],
        picks_title=_("Bench by bench"),
        pick_heads=[
            Head(_("Bench"), 1.2), Head(_("Batch"), 1.1), Head(_("Species"), 1.8), Head(_("Size"), 0.7),
            Head(_("Trays"), 0.6, "RIGHT"), Head(_("Plants"), 0.7, "RIGHT"), Head(_("Picked"), 0.8),
        ],
        picks=[
            ["\n".join([place_text(pick), *marks(pick, stops)]), pick.line.batch.code,
             pick.line.batch.species.scientific_name, pick.line.grade, _trays(pick.trays), number(pick.plants), ""]
            for pick in picks
        ],
        pick_total=[_("In all"), "", "", "", _trays(all_trays(pick.trays for pick in picks)),
                    number(sum(pick.plants for pick in picks)), ""],
        order_title=_("Order of loading"),
        order_note=_("First line first onto the lorry. What is planted first is loaded last."),
        order_heads=[
            Head(_("Loaded as"), 0.6, "RIGHT"), Head(_("Batch"), 1.1), Head(_("Species"), 1.8),
            Head(_("Trays"), 0.6, "RIGHT"), Head(_("Plants"), 0.7, "RIGHT"), Head(_("Stands in for"), 1.8),
        ],
        order=[
            [number(position), line.batch.code, line.batch.species.scientific_name, _trays(trays[line.id]),
             number(plants_of(line)), substitute_text(line)]
            for position, line in enumerate(loading_order(load), start=1)
        ],
        cautions=[
            _("Full trays are heavy: lift with a straight back, in pairs, or use a trolley."),
            _("Secure the load, cover plants against wind and sun, and never drive tired."),
            _("Local codes, the product label and trained people come first."),
        ],
        by_hand=[_("Picked by"), _("Taken over by (name)"), _("Day and time"), _("Plants missing")],
    )  # fmt: skip


def gone_text(load: Dispatch) -> str:
    """Why nothing of a load is to be picked any more; empty while it is to be picked."""
    if load.status is DispatchStatus.PLANNED:
        return ""
    if load.status is DispatchStatus.CANCELLED:
        return _("Nothing of this load is to be picked: it was called off.")
    return _("This load has left: nothing of it is to be picked any more. Benches are those it was fetched from.")


def no_bench_text(load: Dispatch) -> str:
    """What is said where no bench is known."""
    return _("not written down") if has_left(load) else _("on no bench: ask")


def place_text(pick: Pick) -> str:
    """Bench and nursery, or that nobody knows."""
    if pick.bench is None:
        return no_bench_text(pick.line.dispatch)
    return f"{pick.bench.name} ({pick.bench.nursery.name})"


def _trays(number: int | None) -> str:
    return "–" if number is None else format_number(number)


def marks(pick: Pick, stops: Stops) -> list[str]:
    """What stands in the way there, in a few words; the sentences above the list say more."""
    met = [(stops.reentries, _("Do not go in.")), (stops.held, _("in quarantine"))]
    return [told for found, told in met if pick.line.batch_id in found]


def substitute_text(line: DispatchLine) -> str:
    """Which batch it stands in for, and why."""
    return f"{line.substitutes.code}: {line.reason}" if line.substitutes is not None else ""

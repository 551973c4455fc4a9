"""Each number of a line with what it was reckoned from: inputs, the formula in words, where the inputs come from.

Nothing is reckoned anew here: values are those of the frozen plan.
"""

from __future__ import annotations

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models.plans import LineStatus
from nursery.services.planning.lines.explained import Given, Number, chance_text, rate, shown
from nursery.services.planning.lines.reading import LineView
from nursery.services.planning.lines.seed_numbers import grams, seeds, seeds_missing, seeds_per_cell
from nursery.services.planning.lines.wanted_numbers import plants_to_plant, ready_plants, wanted

__all__ = ["Given", "Number", "chance_text", "explain_line"]


def explain_line(view: LineView) -> dict[str, Number]:
    """The numbers of the line by name, in the order of the reckoning; those it does not have are left out."""
    in_cells, grows = not view.is_bed, bool(view.line.growing)
    if (view.line.growing or {}).get("covered"):
        shown_ones = [wanted(view), plants_to_plant(view), ready_plants(view), _growing(view)]
        return {number.key: number for number in [*shown_ones, _expected(view), _chance(view)]}
    numbers = [
        wanted(view),
        plants_to_plant(view),
        ready_plants(view),
        *([_growing(view)] if grows else []),
        *([_cells(view)] if in_cells else []),
        *([_trays(view), _cells_sown(view)] if in_cells and view.line.trays else []),
        *([seeds_per_cell(view)] if in_cells and view.line.seeds_per_cell else []),
        seeds(view),
        *([grams(view)] if view.line.grams is not None else []),
        *([seeds_missing(view)] if view.line.seeds_missing else []),
        _expected(view),
        _chance(view),
        *([_shortfall(view)] if view.line.shortfall else []),
    ]
    return {number.key: number for number in numbers}


def _growing(view: LineView) -> Number:
    """What batches give of what is needed, with the chance asked for."""
    growing = view.line.growing or {}
    batches = [
        Given(
            one["code"],
            _("%(low)s to %(high)s", low=format_number(one["p10"]), high=format_number(one["p90"])),
            _("%(sent)s sent out", sent=format_number(one["dispatched"])) if one["dispatched"] else "",
        )
        for one in growing.get("batches", ())
    ]
    return Number(
        "growing",
        format_number(growing.get("secured", 0)),
        _("Growing already, can be counted on"),
        formula=_(
            "The number of ready plants that its batches reach with the chance asked for, by their latest counts;"
            " plants sent out count in full. Only what is needed beyond that is sown."
        ),
        inputs=(*batches, _assurance(view)),
    )


def _grown(view: LineView) -> list[Given]:
    growing = view.line.growing
    if not growing:
        return []
    return [Given(_("Growing already, expected"), format_number(growing["expected"]))]


#: Stages from a sown cell to a ready plant, as the assurance counts them.
_STAGES = {
    "direct": ("emergence", "establishment", "hardening", "cull"),
    "presprouted": ("emergence", "establishment", "hardening", "cull"),
    "pricked-out": ("establishment", "hardening", "cull"),
    "cuttings": ("emergence", "establishment", "hardening", "cull"),
    "bareroot": ("emergence", "establishment", "hardening", "cull"),
}


def _stages(view: LineView) -> list[Given]:
    stages = [rate(view, name) for name in _STAGES[view.line.method]]
    # Pre-sprouted and pricked-out stock starts from a sprout or a seedling: germination settles the seeds alone.
    return stages if view.line.method in {"presprouted", "pricked-out"} else [germination(view), *stages]


def germination(view: LineView) -> Given:
    """Germination of the seed that will be sown, on the day of sowing."""
    label = _("Rooting, on the day of sticking") if view.is_cuttings else _("Germination, on the day of sowing")
    from_lots, new = bool(view.draws), bool(view.line.seeds_missing)
    if from_lots and new:
        source = _("The lots by their age, and what is still to be collected by the species’ figure.")
    elif from_lots:
        source = _("The lots by their tests (else the species’ figure) and their age on that day.")
    else:
        source = _("The species’ figure, by the age of newly collected material on that day.")
    figure = f"protocols.{view.line.protocol}.rates.germination.mean"
    return Given(label, format_percent(view.line.basis["germination_sown"], 1), source, figure)


def _assurance(view: LineView) -> Given:
    return Given(
        _("Chance asked for"), format_percent(view.line.basis["assurance"]), _("The target, or the settings.")
    )


def _cells(view: LineView) -> Number:
    inputs = [Given(_("Ready plants needed"), format_number(view.line.ready_plants))]
    if view.line.growing:
        inputs.append(Given(_("Growing already"), format_number(view.line.growing["secured"])))
    inputs += _stages(view)
    if view.line.seeds_per_cell and view.line.seeds_per_cell > 1:
        inputs.append(Given(_("Seeds per cell"), format_number(view.line.seeds_per_cell)))
    return Number(
        "cells",
        format_number(view.line.cells),
        _("Cells needed"),
        formula=_(
            "The smallest number of cells with which the chance of enough ready plants reaches the chance asked"
            " for. Each rate may turn out higher or lower than its mean, the more so the fewer trials stand"
            " behind it; so this is more than ready plants ÷ the product of the rates."
        ),
        inputs=(*inputs, _assurance(view)),
    )


def _trays(view: LineView) -> Number:
    basis = view.line.basis
    return Number(
        "trays",
        format_number(view.line.trays),
        _("Trays"),
        formula=_(
            "Cells needed, rounded up to whole trays, and the spare trays. Where lots of different germination"
            " are mixed, the cells follow the germination of each."
        ),
        inputs=(
            Given(_("Cells needed"), format_number(view.line.cells)),
            Given(_("Cells in a tray"), format_number(basis["cells_per_tray"]), view.line.container_name),
            Given(_("Spare trays"), format_number(basis["spare_trays"]), _("The settings.")),
        ),
    )


def _cells_sown(view: LineView) -> Number:
    line, basis = view.line, view.line.basis
    full = line.cells_sown == line.trays * basis["cells_per_tray"]
    return Number(
        "cells_sown",
        format_number(line.cells_sown),
        _("Cells sown"),
        formula=_("Trays × cells in a tray.")
        if full
        else _("As many cells of the trays as the seed of the lots fills; the last tray is not full."),
        inputs=(
            Given(_("Trays"), format_number(line.trays)),
            Given(_("Cells in a tray"), format_number(basis["cells_per_tray"]), line.container_name),
            Given(_("Cells from seed in hand"), format_number(basis["cells_from_lots"])),
        ),
    )


def _counted(view: LineView) -> Given:
    """What the forecast starts from: everything sown, or what seed in hand gives where no more can be had."""
    line, basis = view.line, view.line.basis
    certain = line.status in {LineStatus.ON_TRACK, LineStatus.COLLECT}
    if view.is_bed:
        return Given(_("Seeds sown"), format_number(line.seeds if certain else view.seeds_in_hand))
    if certain:
        source = _("Seed still to be collected is counted as collected.") if line.seeds_missing else ""
        return Given(_("Cells sown"), format_number(line.cells_sown), source)
    return Given(
        _("Cells from seed in hand"), format_number(basis["cells_from_lots"]), _("More cannot be had in time.")
    )


def _expected(view: LineView) -> Number:
    line = view.line
    inputs = [*_grown(view), *([_counted(view), *_stages(view)] if line.seeds or not line.growing else [])]
    if line.seeds and line.seeds_per_cell and line.seeds_per_cell > 1:
        inputs.append(Given(_("Seeds per cell"), format_number(line.seeds_per_cell)))
    inputs.append(Given(_("Range, four times in five"), f"{format_number(line.p10)}–{format_number(line.p90)}"))
    return Number(
        "expected",
        format_number(line.expected),
        _("Ready plants expected"),
        formula=_(
            "Cells × share of cells filled × establishment × hardening × (1 − cull), on average. In eight cases"
            " of ten the count should lie within the range: one in ten below it, one in ten above."
        ),
        inputs=tuple(inputs),
    )


def _chance(view: LineView) -> Number:
    line = view.line
    return Number(
        "probability",
        chance_text(line.probability),
        _("Chance of enough ready plants"),
        formula=_("Share of cases in which the ready plants reach the number needed, the rates being uncertain."),
        inputs=(
            Given(_("Ready plants needed"), format_number(line.ready_plants)),
            *_grown(view),
            *([_counted(view)] if line.seeds or not line.growing else []),
            Given(_("Ready plants expected"), format_number(line.expected)),
            _assurance(view),
        ),
    )


def _shortfall(view: LineView) -> Number:
    line = view.line
    late = line.status == LineStatus.LATE
    return Number(
        "shortfall",
        format_number(line.shortfall),
        _("Plants not covered by seed in hand"),
        formula=_("All of them: nothing sown for this season can be in time.")
        if late
        else _("Plants to plant × share of the need that no lot covers."),
        inputs=(
            Given(_("Plants to plant"), format_number(line.plants_to_plant)),
            shown(_("Seed in hand"), view, view.seeds_in_hand),
            shown(_("Seed missing"), view, line.seeds_missing),
        ),
    )

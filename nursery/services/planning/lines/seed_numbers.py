"""Seeds per cell, seeds and grams."""

from __future__ import annotations

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.planning.words import Method
from nursery.services.planning.lines.explained import Given, Number, rate, shown
from nursery.services.planning.lines.reading import LineView


def seeds_per_cell(view: LineView) -> Number:
    """How many, and who chose."""
    line = view.line
    inputs: tuple[Given, ...] = ()
    protocol = view.protocol
    if line.method in {Method.PRESPROUTED, Method.PRICKED_OUT}:
        formula = _("One to a cell: only seed that has sprouted, or a seedling, is set.")
    elif line.basis["seeds_per_cell_pinned"]:
        formula = _("Set by a person in the target.")
    elif protocol is not None and protocol.seeds_per_cell == line.seeds_per_cell:
        formula = _("The protocol’s own number.")
        inputs = (Given(_("Protocol"), line.protocol, "", f"protocols.{line.protocol}.seeds_per_cell"),)
    elif line.method == Method.CUTTINGS:
        formula = _("One to a cell: a second cutting is rarely thinned.")
    else:
        formula = _(
            "The number with the least cost of a filled cell: price of seed, work of thinning and the cost of a"
            " cell that stays empty, as the settings give them."
        )
        inputs = (
            Given(_("Germination it was chosen by"), format_percent(line.basis["germination_reference"], 1)),
            rate(view, "emergence"),
        )
    title = _("Cuttings per cell") if view.is_cuttings else _("Seeds per cell")
    return Number("seeds_per_cell", format_number(line.seeds_per_cell), title, formula=formula, inputs=inputs)


def seeds(view: LineView) -> Number:
    """Seeds (or cuttings) of lots and those still missing."""
    line = view.line
    formulas = {
        Method.DIRECT: _("Cells sown × seeds per cell, rounded up for each lot."),
        Method.CUTTINGS: _("Cells × cuttings per cell, rounded up for each lot."),
        Method.PRESPROUTED: _("Cells sown ÷ germination of each lot: only sprouted seed is set."),
        Method.PRICKED_OUT: _("Cells sown ÷ (germination × emergence) of each lot: a seedling for every cell."),
        Method.BAREROOT: _(
            "The smallest number of seeds with which the chance of enough ready plants reaches the chance"
            " asked for."
        ),
    }
    inputs = [
        shown(_("From lots in hand"), view, view.seeds_in_hand),
        shown(_("Still missing"), view, line.seeds_missing),
    ]
    if not view.is_bed:
        inputs.insert(0, Given(_("Cells sown"), format_number(line.cells_sown)))
    if line.method == Method.PRICKED_OUT:
        inputs.append(rate(view, "emergence"))
    return Number(
        "seeds",
        format_number(line.seeds),
        _("Cuttings") if view.is_cuttings else _("Seeds"),
        formula=formulas[Method(line.method)],
        inputs=tuple(inputs),
    )


def grams(view: LineView) -> Number:
    """Weight of the seed, by each lot's own figures."""
    line = view.line
    held = format_number(view.grams_in_hand, 3)
    inputs = [Given(_("From lots in hand (g)"), held, _("Each lot’s own weight and purity."))]
    if line.seeds_missing:
        inputs += [
            Given(_("Still missing (g)"), format_number(view.grams_missing, 3)),
            Given(
                _("Thousand-seed weight (g)"),
                format_number(line.basis["tsw_g"], 3),
                _("The species’ figure."),
                "seed.thousand_seed_weight_g",
            ),
            Given(
                _("Purity after cleaning"),
                format_percent(line.basis["purity"], 1),
                _("The species’ figure."),
                "seed.purity",
            ),
        ]
    return Number(
        "grams",
        format_number(line.grams, 1),
        _("Clean seed"),
        formula=_("Seeds × thousand-seed weight ÷ 1000 ÷ purity."),
        inputs=tuple(inputs),
        unit="g",
    )


def seeds_missing(view: LineView) -> Number:
    """What no lot gives."""
    line = view.line
    inputs = [
        shown(_("Needed in all"), view, line.seeds),
        shown(_("From lots in hand"), view, view.seeds_in_hand),
        Given(
            _("Rooting of what is still to be taken")
            if view.is_cuttings
            else _("Germination of new seed at sowing"),
            format_percent(line.basis["germination_new"], 1),
            _("The species’ figure, by its age on that day."),
            f"protocols.{line.protocol}.rates.germination.mean",
        ),
    ]
    return Number(
        "seeds_missing",
        format_number(line.seeds_missing),
        _("Cuttings missing") if view.is_cuttings else _("Seeds missing"),
        formula=_("Cells that no lot of the right origin fills, by the germination of newly collected material."),
        inputs=tuple(inputs),
        unit=_("cuttings") if view.is_cuttings else _("seeds"),
    )

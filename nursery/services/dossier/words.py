"""Coded values of a dossier in words, and what the words of a dossier mean."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.models.papers import PaperKind
from nursery.services.dossier.asking import Basis

BASIS_LABELS = {
    Basis.PLANTED: _l("planted"),
    Basis.SENT: _l("sent, not yet planted"),
    Basis.GROWING: _l("growing for the site"),
    Basis.PLANNED: _l("planned"),
    Basis.LOT: _l("in the lot"),
}
LOAD_LABELS = {
    DispatchStatus.PLANNED: _l("planned"),
    DispatchStatus.SENT: _l("on its way"),
    DispatchStatus.RECEIVED: _l("received"),
    DispatchStatus.CANCELLED: _l("cancelled"),
}
RETURN_LABELS = {
    ReturnDecision.BACK_IN_STOCK: _l("back in stock"),
    ReturnDecision.DISCARDED: _l("discarded"),
}
PAPER_LABELS = {
    PaperKind.SEED_DOCUMENT: _l("Supplier’s document for seed"),
    PaperKind.SEED_LABEL: _l("Supplier’s label for seed"),
    PaperKind.PLANT_DOCUMENT: _l("Supplier’s document for plants"),
    PaperKind.PLANT_LABEL: _l("Supplier’s label for plants"),
    PaperKind.PASSPORT: _l("Plant passport"),
    PaperKind.DELIVERY_NOTE: _l("Delivery note"),
}


def coded(labels: Mapping[Any, object]) -> dict[str, str]:
    """Values and their words, as a column of a package takes them."""
    return {str(value): str(label) for value, label in labels.items()}


def glossary() -> list[tuple[str, str]]:
    """What the words mean."""
    return [
        (_("Population"), _("A wild stand of one species where seed or cuttings are collected.")),
        (_("Lot"), _("Seed or cuttings of one species, one population and one ripening year.")),
        (_("Mother plant"), _("A plant that seed or cuttings were taken from; its offspring is one family.")),
        (
            _("Effective mothers"),
            _(
                "How many mothers of equal share would give the same variety: one divided by the sum of squared"
                " shares. Known only where the seed of each mother was weighed apart."
            ),
        ),
        (
            _("Share of the plants"),
            _(
                "Of all plants told of here, the part that passed through a lot or came from a mother, through"
                " every split and mix of seed and of batches, in the proportions of the act itself."
            ),
        ),
        (_("Batch"), _("One lot sown or struck on one day in one kind of container, and the plants it gives.")),
        (
            _("Verdict"),
            _(
                "What the rules of origin that the site follows say of a lot there: pass, caution or stop, by"
                " those of the rules in force on the day of this dossier."
            ),
        ),
        (
            _("Override"),
            _("A person’s decision to let a lot serve a site despite a stop, with a reason; it stays on record."),
        ),
        (
            _("Region of provenance"),
            _(
                "An area of sufficiently uniform ecological conditions for a species, as the authority draws it"
                " (Directive 1999/105/EC)."
            ),
        ),
        (
            _("Survival"),
            _("Plants alive in marked plots, divided by those first planted there; replacements left out."),
        ),
        (
            _("Interval"),
            _("The 95 % interval of a share that was counted in a sample (Wilson’s score interval)."),
        ),
        (_("Load"), _("Plants that travelled to one site on one day.")),
    ]  # fmt: skip

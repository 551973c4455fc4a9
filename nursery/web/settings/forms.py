"""The form of the nursery's own defaults, each with what it does."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.services.preferences import BOUNDS
from nursery.web.fields import FractionField, NumberField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm


class PreferencesForm(RecordForm):
    """One nursery's defaults."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    organisation = TextField(
        _l("Organisation"), most=120, description=_l("Stands on lists and reports. May be left empty.")
    )
    assurance = FractionField(
        _l("Assurance"),
        bounds=BOUNDS["assurance"],
        needed=True,
        description=_l(
            "The chance asked for that the ready plants reach the target. At 80 percent, four targets in five are"
            " reached; a higher chance takes more trays and more seed. A target may ask for its own."
        ),
    )
    spare_trays = WholeNumberField(
        _l("Spare trays"),
        bounds=BOUNDS["spare_trays"],
        needed=True,
        description=_l("Sown for every target beyond what the assurance asks, against spills, mice and mistakes."),
    )
    cost_seed = NumberField(
        _l("A seed"),
        bounds=BOUNDS["cost_seed"],
        digits=4,
        needed=True,
        description=_l("What one seed is worth to you: its price, or the work of collecting and cleaning it."),
    )
    cost_thin = NumberField(
        _l("Thinning a seedling"),
        bounds=BOUNDS["cost_thin"],
        digits=4,
        needed=True,
        description=_l("The work of pulling out one seedling too many."),
    )
    cost_cell = NumberField(
        _l("A cell"),
        bounds=BOUNDS["cost_cell"],
        digits=4,
        needed=True,
        description=_l("Tray, substrate, water and bench for one cell, which an empty cell wastes."),
    )

    groups = (
        Group(_l("Who you are"), (("organisation",),)),
        Group(_l("How sure you want to be"), (("assurance",), ("spare_trays",))),
        Group(
            _l("What a filled cell costs"),
            (("cost_seed",), ("cost_thin",), ("cost_cell",)),
            _l(
                "In your own currency. With more seeds to a cell fewer cells stay empty, but more seed is used"
                " and more seedlings are thinned: the plan takes the number that makes a filled cell cheapest."
                " Only the proportion of the three matters."
            ),
        ),
    )

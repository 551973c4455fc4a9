"""The form of the nursery's own defaults, each with what it does."""

from __future__ import annotations

from typing import Any

from nursery.i18n import currency_name, is_currency
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.preferences import BOUNDS
from nursery.web.country_field import CountryField
from nursery.web.fields import FractionField, NotesField, NumberField, TextField, TypedField, WholeNumberField
from nursery.web.forms import Group, RecordForm


class CurrencyField(TypedField):
    """Three letters of ISO 4217, in capitals or not."""

    def parse(self, text: str) -> Any:
        """The letters in capitals."""
        if not is_currency(text.upper()):
            told = _("“%(code)s” is no currency. Write its three letters, such as EUR, GBP or USD.", code=text)
            raise ValueError(told)
        return text.upper()

    def show(self, value: Any) -> str:
        """Letters and name."""
        return f"{value}, {currency_name(value)}"


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
    currency = CurrencyField(
        _l("Currency"), needed=True, description=_l("Its three letters, such as EUR. All sums are in it.")
    )
    wage_per_hour = NumberField(
        _l("Wage"),
        bounds=BOUNDS["wage_per_hour"],
        digits=2,
        unit=_l("per hour"),
        needed=True,
        description=_l(
            "What an hour of paid work costs you, with all that is paid on top. A person may have a wage of her"
            " own. 14 stands here until you write yours: a working figure, no source."
        ),
    )
    volunteer_per_hour = NumberField(
        _l("Value of an hour given"),
        bounds=BOUNDS["volunteer_per_hour"],
        digits=2,
        unit=_l("per hour"),
        needed=True,
        description=_l(
            "What your funders let an hour of a volunteer count. It is shown beside the costs, never in them."
        ),
    )
    overhead = FractionField(
        _l("Overhead"),
        bounds=BOUNDS["overhead"],
        needed=True,
        description=_l(
            "Rent, water, power and office, as a share of all other costs. 15 percent is a working figure, no"
            " source."
        ),
    )

    address = TextField(_l("Address"), most=300, description=_l("As documents and labels print the supplier."))
    country = CountryField(
        _l("Country"),
        render_kw={"maxlength": 2},
        description=_l(
            "Two letters, such as PT. Its rules settle which papers travel; left empty, the Union’s do."
        ),
    )
    supplier_number = TextField(
        _l("Supplier’s number"),
        most=40,
        description=_l(
            "In the register of suppliers of forest reproductive material, as the authority writes it. Documents"
            " print it where it is there."
        ),
    )
    operator_number = TextField(
        _l("Operator’s number"),
        most=40,
        description=_l(
            "In the register of professional operators of the plant-health service. Every plant passport bears it,"
            " after the country and a hyphen."
        ),
    )
    records_years = WholeNumberField(
        _l("Papers are kept for"),
        bounds=BOUNDS["records_years"],
        unit=_l("years"),
        needed=True,
        description=_l(
            "From the day each is drawn up. The Union asks for three years for passports (from memory), some"
            " countries for ten. Nothing is ever deleted; the day only says until when it must not be thrown away."
        ),
    )
    report_opening = NotesField(
        _l("Opening words"),
        description=_l(
            "Stand at the head of every season report: who you are, whom you thank. An empty line parts."
        ),
    )
    report_closing = NotesField(
        _l("Closing words"), description=_l("Stand after the figures: what comes next, where to ask.")
    )
    report_colour = TextField(
        _l("Colour of headings"),
        most=7,
        description=_l(
            "As #rrggbb, such as #1d5547. It must be dark enough to be read; left empty, ours is taken."
        ),
    )

    groups = (
        Group(_l("Who you are"), (("organisation",),)),
        Group(
            _l("What papers print of you"),
            (("address",), ("country",), ("supplier_number",), ("operator_number",), ("records_years",)),
            _l("Papers that travel with seed and plants take these. What is missing stops a paper and says so."),
        ),
        Group(_l("How sure you want to be"), (("assurance",), ("spare_trays",))),
        Group(
            _l("Hours and money"),
            (("currency",), ("wage_per_hour",), ("volunteer_per_hour",), ("overhead",)),
            _l("By these the costs of plants are reckoned."),
        ),
        Group(
            _l("What a filled cell costs"),
            (("cost_seed",), ("cost_thin",), ("cost_cell",)),
            _l(
                "In your own currency. With more seeds to a cell fewer cells stay empty, but more seed is used"
                " and more seedlings are thinned: the plan takes the number that makes a filled cell cheapest."
                " Only the proportion of the three matters."
            ),
        ),
        Group(
            _l("Your reports"),
            (("report_opening",), ("report_closing",), ("report_colour",)),
            _l("Your own words and colour in season reports. Reports that were made stay as they are."),
        ),
    )

"""The form of a lot."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Any

from flask import url_for
from markupsafe import Markup
from sqlalchemy import String, cast, select

from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Population, SeedTest, Species, StoragePlace, Trip
from nursery.models.lots import Material
from nursery.services import limits
from nursery.services.collecting import LABELS as FIELD_LABELS
from nursery.services.collecting import RIPENESS_LABELS
from nursery.services.ledger.words import held_text
from nursery.services.lots import MATERIAL_LABELS
from nursery.services.seed_tests import noted_test, ruled_columns
from nursery.web.fields import (
    ChoiceField,
    DayField,
    FractionField,
    NumberField,
    PercentField,
    TextField,
    WholeNumberField,
)
from nursery.web.forms import Group, RecordForm
from nursery.web.lots import permit_field
from nursery.web.lots.permit_field import PermitNumberField
from nursery.web.lots.reading import tests
from nursery.web.record_fields import RecordField, RecordSelect


class Unit(StrEnum):
    """What an amount is typed in."""

    GRAMS = "g"
    KILOGRAMS = "kg"
    PIECES = "pieces"


#: Fields that only a new lot has; afterwards its ledger says what it holds.
AMOUNTS = ("amount", "unit", "fruit")
UNIT_LABELS = {Unit.GRAMS: _l("g"), Unit.KILOGRAMS: _l("kg"), Unit.PIECES: _l("pieces")}
_SPECIES = select(Species.scientific_name).where(Species.id == Population.species_id).scalar_subquery()


def told_amount(lot: Lot) -> Markup:
    """What a lot holds, and the way to change it."""
    told = _("By its ledger the lot holds %(held)s.", held=held_text(lot))
    address = url_for("lots.ledger_act", record_id=lot.id, act_name="recount")
    return Markup('{} <a href="{}">{}</a>').format(told, address, _("Write down a recount"))


def told_ruling(lot: Lot, test: SeedTest) -> Markup:
    """Which test a figure comes from, with the way to it."""
    told = _("Ruled by the test of %(day)s.", day=format_date(test.tested_on))
    address = url_for("lots.detail", record_id=lot.id, _anchor="tests")
    return Markup('{} <a href="{}">{}</a>').format(told, address, _("See the tests"))


class LotForm(RecordForm):
    """One lot; its species is that of its population."""

    population_id = RecordField(
        _l("Population"),
        model=Population,
        described=Population.name + ", " + _SPECIES,
        needed=True,
        description=_l("Code or name. The lot takes its species from here."),
    )
    trip_id = RecordField(_l("Trip"), model=Trip, described=cast(Trip.collected_on, String))
    collected_on = DayField(_l("Collected on"), description=_l("Left empty, the day of the trip."))
    ripening_year = WholeNumberField(
        _l("Ripening year"), bounds=limits.RIPENING_YEAR, description=_l("Left empty, the year of collecting.")
    )
    material = ChoiceField(_l("Material"), kind=Material, labels=MATERIAL_LABELS, default=Material.SEED)
    mother_plants = WholeNumberField(_l("Mother plants"), bounds=limits.MOTHER_PLANTS)
    permit_number = PermitNumberField(
        _l("Permit number"),
        most=60,
        description=_l("As the authority writes it. Left empty, a permit that covers the lot is found."),
    )
    amount = NumberField(_l("Amount"), description=_l("Clean seed by weight, or pieces counted."))
    unit = ChoiceField(_l("Measured in"), kind=Unit, labels=UNIT_LABELS, default=Unit.GRAMS)
    fruit = NumberField(
        _l("Fruit not yet processed"),
        bounds=limits.FRUIT_KG,
        unit="kg",
        description=_l("Seed that is still in it is written down when it is extracted."),
    )
    storage_place_id = RecordSelect(_l("Kept in"), model=StoragePlace)
    purity = FractionField(
        _l("Purity"),
        bounds=limits.POSITIVE_FRACTION,
        description=_l("Pure seed by weight; 85, 85 % and 0.85 mean the same."),
    )
    tsw_g = NumberField(
        _l("Thousand-seed weight"),
        bounds=limits.TSW_G,
        unit="g",
        description=_l("Of clean, dry seed. Left empty, the catalogue’s figure is used."),
    )
    germination = FractionField(
        _l("Germination"),
        bounds=limits.FRACTION,
        description=_l("Or viability; for cuttings, rooting. Left empty, the catalogue’s figure is used."),
    )
    tested_on = DayField(_l("Tested on"))
    moisture_pct = PercentField(
        _l("Moisture content"), bounds=limits.MOISTURE_PCT, description=_l("On wet basis.")
    )
    code = TextField(
        _l("Code"), most=24, description=_l("Left empty, a code is given whose last character checks the others.")
    )

    groups = (
        Group(
            _l("Where it comes from"),
            (
                ("population_id", "trip_id"),
                ("collected_on", "ripening_year"),
                ("mother_plants", "permit_number"),
            ),
        ),
        Group(_l("What there is"), (("amount", "unit"), ("fruit",), ("material", "storage_place_id"), ("code",))),
        Group(
            _l("How good it is"),
            (("purity", "tsw_g"), ("germination", "tested_on"), ("moisture_pct",)),
            hint=_l("Own tests. What is left empty is taken from the catalogue until you have tested."),
        ),
        Group(_l("More"), (("notes",),)),
    )

    def __init__(self, *arguments: Any, obj: Lot | None = None, **options: Any) -> None:
        super().__init__(*arguments, obj=obj, **options)
        #: The lot that is changed; its amounts are the ledger's and are no fields.
        self.lot = obj
        #: Figures that tests rule: they are shown, and only another test changes them.
        self.ruled: Mapping[str, SeedTest] = {}
        if obj is not None:
            for name in AMOUNTS:
                del self[name]
            self.ruled = ruled_columns(tests(obj))
            for name, test in self.ruled.items():
                field = self[name]
                field.render_kw = {**(field.render_kw or {}), "readonly": True}
                field.description = told_ruling(obj, test)

    def grouped(self) -> Iterator[tuple[Group, list[list[Any]]]]:
        """Without the amounts on a lot that exists; a sentence says where they are changed."""
        for group in self.groups:
            rows = [[self._fields[name] for name in row if name in self._fields] for row in group.rows]
            told = told_amount(self.lot) if self.lot is not None and AMOUNTS[0] in group.rows[0] else None
            yield (replace(group, hint=told) if told else group), [row for row in rows if row]

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """Pieces are whole, weights within bounds, in the unit that was typed."""
        sound = super().validate(*arguments, **options)
        if self.lot is not None or self.amount.errors:
            return bool(sound)
        amount, unit = self.amount.data, self.unit.data
        if amount is None:
            if not self.fruit.data:
                self.amount.errors = [_("%(field)s must be filled in.", field=self.amount.label.text)]
            return bool(sound) and not self.amount.errors
        refusal = None
        if unit is Unit.PIECES:
            refusal = limits.PIECES.refusal(amount)
            if amount != int(amount):
                refusal = _("Pieces are whole. Leave the decimals out, or choose a weight.")
        else:
            in_kilograms = unit is Unit.KILOGRAMS
            refusal = (limits.AMOUNT_KG if in_kilograms else limits.AMOUNT_G).refusal(amount)
        if refusal:
            self.amount.errors = [refusal]
        return bool(sound) and refusal is None

    def values(self) -> dict[str, Any]:
        """Columns, with the amount in milligrams or pieces."""
        values = super().values()
        if self.lot is not None:
            return {name: value for name, value in values.items() if name not in self.ruled}
        amount, unit, fruit = (values.pop(name) or 0 for name in AMOUNTS)
        values |= {"amount_mg": None, "pieces": None, "fruit_mg": round(fruit * 1_000_000)}
        if unit is Unit.PIECES:
            values["pieces"] = int(amount)
        else:
            values["amount_mg"] = round(amount * (1_000_000 if unit is Unit.KILOGRAMS else 1000))
        return values

    def field_of(self, column: str) -> str:
        """Both columns of the amount are typed in one field, and the species follows the population."""
        names = {"amount_mg": "amount", "pieces": "amount", "fruit_mg": "fruit", "species_id": "population_id"}
        return names.get(column) or super().field_of(column)

    def labels(self) -> dict[str, str]:
        """With the columns that are typed in other fields."""
        more = {
            "amount_mg": _("Amount"),
            "pieces": _("Pieces"),
            "fruit_mg": _("Fruit not yet processed"),
            "species_id": _("Species"),
            "test": _("Test"),
        }
        seen = {column: str(label) for column, label in FIELD_LABELS.items()} | {"bags": _("Bags")}
        return seen | super().labels() | more | permit_field.labels()

    def show(self, column: str, value: Any) -> str:
        """Milligrams as grams."""
        if column in {"amount_mg", "fruit_mg"} and value is not None:
            return _("%(grams)s g", grams=format_number(value / 1000, 6))
        if column == "pieces" and value is not None:
            return format_number(value)
        if column == "test" and value is not None:
            return noted_test(value)
        if column == "crop_share" and value is not None:
            return format_percent(value, 1)
        if column == "ripeness" and value:
            return str(RIPENESS_LABELS[value])
        return permit_field.shown(column, value) or super().show(column, value)

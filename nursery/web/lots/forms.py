"""The form of a lot."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Any

from flask import url_for
from markupsafe import Markup
from sqlalchemy import String, cast, select
from wtforms import BooleanField

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
from nursery.web.lots.coming_field import Coming, ComingField
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
    stored_on = DayField(
        _l("Kept there since"),
        description=_l("Left empty, since collecting; where the place changes, since today."),
    )
    came = ComingField(_l("How it came"))
    is_received = BooleanField(
        _l("Received from somebody else"), description=_l("No collecting permit is asked for it.")
    )
    supplier_document = TextField(
        _l("Supplier’s document"), most=120, description=_l("Its number, for seed that was received.")
    )
    certificate_number = TextField(
        _l("Master certificate"), most=60, description=_l("Its number, as the authority writes it.")
    )
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
                ("came",),
                ("is_received",),
                ("population_id", "trip_id"),
                ("collected_on", "ripening_year"),
                ("mother_plants", "permit_number"),
                ("certificate_number", "supplier_document"),
            ),
        ),
        Group(
            _l("What there is"),
            (("amount", "unit"), ("fruit",), ("material", "code"), ("storage_place_id", "stored_on")),
        ),
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
        if obj is None:
            del self["is_received"]
        else:
            for name in ("came", *AMOUNTS):
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
        came = values.pop("came")
        values |= {"in_store": came == Coming.IN_STORE, "is_received": came == Coming.RECEIVED}
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
            "is_received": _("Received from somebody else"),
            "harmed_on": _("In a place that kills such seed until"),
            "moisture_on": _("Day of the moisture"),
        }
        seen = {column: str(label) for column, label in FIELD_LABELS.items()} | {"bags": _("Bags")}
        return seen | super().labels() | more | permit_field.labels()

    def show(self, column: str, value: Any) -> str:
        """Milligrams as grams, and columns that are no fields in words."""
        if value is not None and column in _SHOWN:
            return _SHOWN[column](value)
        return permit_field.shown(column, value) or super().show(column, value)


def _grams(value: int) -> str:
    return _("%(grams)s g", grams=format_number(value / 1000, 6))


def _day(value: str) -> str:
    return format_date(dt.date.fromisoformat(str(value)))


_SHOWN: Mapping[str, Callable[[Any], str]] = {
    "amount_mg": _grams,
    "fruit_mg": _grams,
    "pieces": format_number,
    "harmed_on": _day,
    "moisture_on": _day,
    "is_received": lambda value: _("yes") if value else _("no"),
    "test": noted_test,
    "crop_share": lambda value: format_percent(value, 1),
    "ripeness": lambda value: str(RIPENESS_LABELS[value]) if value else "",
}

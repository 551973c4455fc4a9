"""The form of a lot."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

from sqlalchemy import String, cast, select

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Population, Species, StoragePlace, Trip
from nursery.models.lots import Material
from nursery.services import limits
from nursery.services.lots import MATERIAL_LABELS
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
from nursery.web.record_fields import RecordField, RecordSelect


class Unit(StrEnum):
    """What an amount is typed in."""

    GRAMS = "g"
    KILOGRAMS = "kg"
    PIECES = "pieces"


UNIT_LABELS = {Unit.GRAMS: _l("g"), Unit.KILOGRAMS: _l("kg"), Unit.PIECES: _l("pieces")}
_SPECIES = select(Species.scientific_name).where(Species.id == Population.species_id).scalar_subquery()


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
    permit_number = TextField(
        _l("Permit number"), most=60, description=_l("Of the collecting permit, as the authority writes it.")
    )
    amount = NumberField(_l("Amount"), needed=True, description=_l("Clean seed by weight, or pieces counted."))
    unit = ChoiceField(_l("Measured in"), kind=Unit, labels=UNIT_LABELS, default=Unit.GRAMS)
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
        Group(_l("What there is"), (("amount", "unit"), ("material", "storage_place_id"), ("code",))),
        Group(
            _l("How good it is"),
            (("purity", "tsw_g"), ("germination", "tested_on"), ("moisture_pct",)),
            hint=_l("Own tests. What is left empty is taken from the catalogue until you have tested."),
        ),
        Group(_l("More"), (("notes",),)),
    )

    @classmethod
    def stored(cls, row: Lot) -> dict[str, Any]:
        """The amount in the unit in which it reads best."""
        if row.amount_mg is None:
            return {"amount": row.pieces, "unit": Unit.PIECES}
        in_kilograms = row.amount_mg >= 1_000_000 and row.amount_mg % 1000 == 0
        if in_kilograms:
            return {"amount": row.amount_mg / 1e6, "unit": Unit.KILOGRAMS}
        return {"amount": row.amount_mg / 1e3, "unit": Unit.GRAMS}

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """Pieces are whole, weights within bounds, in the unit that was typed."""
        sound = super().validate(*arguments, **options)
        amount, unit = self.amount.data, self.unit.data
        if amount is None or self.amount.errors:
            return bool(sound)
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
        amount, unit = values.pop("amount"), values.pop("unit")
        values |= {"amount_mg": None, "pieces": None}
        if unit is Unit.PIECES:
            values["pieces"] = int(amount)
        else:
            values["amount_mg"] = round(amount * (1_000_000 if unit is Unit.KILOGRAMS else 1000))
        return values

    def field_of(self, column: str) -> str:
        """Both columns of the amount are typed in one field, and the species follows the population."""
        names = {"amount_mg": "amount", "pieces": "amount", "species_id": "population_id"}
        return names.get(column) or super().field_of(column)

    def labels(self) -> dict[str, str]:
        """With the columns that are typed in other fields."""
        more = {"amount_mg": _("Amount"), "pieces": _("Pieces"), "species_id": _("Species")}
        return super().labels() | more

    def show(self, column: str, value: Any) -> str:
        """Milligrams as grams."""
        if column == "amount_mg" and value is not None:
            return _("%(grams)s g", grams=self.amount.show(value / 1000))
        if column == "pieces" and value is not None:
            return str(self.amount.show(value))
        return super().show(column, value)

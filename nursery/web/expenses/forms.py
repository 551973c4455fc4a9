"""The form of an expense."""

from __future__ import annotations

from sqlalchemy import select

from nursery.i18n import lazy as _l
from nursery.models import Batch, Species
from nursery.services.costing.expenses import BOUNDS
from nursery.web.fields import DayField, NumberField, SpeciesField, TextField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField
from nursery.web.targets.fields import FunderField

_SPECIES = select(Species.scientific_name).where(Species.id == Batch.species_id).scalar_subquery()


class ExpenseForm(RecordForm):
    """What was spent, and who bears it."""

    what = TextField(
        _l("What for"), most=120, needed=True, description=_l("Fuel, rent, repairs, a bought service.")
    )
    spent_on = DayField(_l("Spent on"), needed=True)
    amount = NumberField(
        _l("Amount"),
        bounds=BOUNDS["amount"],
        digits=2,
        needed=True,
        description=_l("In the nursery's currency. Wages and supplies from stock are reckoned by themselves."),
    )
    batch_id = RecordField(_l("Batch"), model=Batch, described=_SPECIES)
    species_id = SpeciesField(_l("Species"))
    funder = FunderField(_l("Funder"), most=120)

    groups = (
        Group(_l("What was spent"), (("what",), ("spent_on", "amount"))),
        Group(
            _l("Who bears it"),
            (("batch_id", "species_id"), ("funder",)),
            _l("All left empty, everything that was growing on that day bears it, by plants."),
        ),
        Group(_l("More"), (("notes",),)),
    )

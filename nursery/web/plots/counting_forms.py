"""The form of a survey: one block a species, for a thumb in the field."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from babel.support import LazyProxy
from wtforms import Field, FieldList, Form, FormField

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.planning.field.words import LAST_YEAR, YEARS, Cause
from nursery.services.surveys.checking import PLANTS, Counted
from nursery.services.surveys.words import CAUSE_LABELS, year_name
from nursery.web.fields import DayField, ListInput, SpeciesField, TextField, WholeNumberField
from nursery.web.forms import RecordForm
from nursery.web.health.fields import PhotosField
from nursery.web.targets.fields import SeasonField

#: Species that one survey counts at most; a plot of more has been mistaken for a herbarium.
MOST_SPECIES = 60
#: Blocks without a species below those that were planted.
SPARE = 2


def cause_field(cause: Cause) -> str:
    """What the field of a cause is called."""
    return f"cause_{cause.name.lower()}"


class CountForm(Form):
    """Plants of one species in the plot."""

    species_id = SpeciesField(_l("Species"))
    planted = WholeNumberField(_l("Planted first"), bounds=PLANTS)
    alive = WholeNumberField(_l("Alive"), bounds=PLANTS)
    replacements_alive = WholeNumberField(
        _l("Replacements alive"), bounds=PLANTS, description=_l("Planted later in place of dead ones.")
    )

    @property
    def at(self) -> int:
        """Where it stands among the blocks."""
        return int(self.planted.name.split("-")[1])

    @property
    def causes(self) -> list[Any]:
        """The fields of the causes."""
        return [self._fields[cause_field(cause)] for cause in Cause]

    @property
    def has_causes(self) -> bool:
        """Whether any cause was typed, or any was refused."""
        return any(field.data is not None or field.errors for field in self.causes)

    def counted(self) -> Counted:
        """What was counted."""
        causes = {
            cause.value: plants
            for cause in Cause
            if (plants := self._fields[cause_field(cause)].data)
        }  # fmt: skip
        return Counted(
            self.species_id.data, self.planted.data, self.alive.data, causes, self.replacements_alive.data or 0,
            self.at,
        )  # fmt: skip


for _cause in Cause:
    setattr(CountForm, cause_field(_cause), WholeNumberField(CAUSE_LABELS[_cause], bounds=PLANTS))


class YearField(Field):
    """After how many growing seasons: 1, 3 or 5 first, any other below."""

    widget = ListInput()
    understood = ""
    #: The last year offered: the plants have not come to those after it.
    last = LAST_YEAR

    def options(self) -> Sequence[tuple[str, str]]:
        """The usual years, then the others; what was chosen stays."""
        others = [year for year in range(1, LAST_YEAR + 1) if year not in YEARS]
        offered = [year for year in (*YEARS, *others) if year <= self.last or year == self.data]
        return [(str(year), year_name(year)) for year in offered]

    def chosen(self) -> str:
        """The year now chosen."""
        return str(self.data or "")

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The year."""
        value = valuelist[0] if valuelist else ""
        if value not in {str(year) for year in range(1, LAST_YEAR + 1)}:
            raise ValueError(_("Choose the year again."))
        self.data = int(value)

    def show(self, value: Any) -> str:
        """The year in words."""
        return year_name(value)


class SurveyForm(RecordForm):
    """Season and year, day, and a block for each species."""

    season = SeasonField(
        _l("Season planted"), needed=True, description=_l("The winter in which the plants were planted: 2025/26.")
    )
    year = YearField(_l("Year"), description=_l("Growing seasons the plants have lived through."))
    surveyed_on = DayField(_l("Counted on"), needed=True)
    person = TextField(_l("Person"), most=80)
    photos = PhotosField(
        _l("Photographs"), description=_l("JPEG, PNG or WebP, up to 10 MB each and 30 MB together.")
    )
    counts = FieldList(FormField(CountForm), max_entries=MOST_SPECIES)
    #: What was refused beside the fields of the blocks: by the block's number.
    row_errors: dict[str, str]

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.row_errors = {}

    @property
    def blocks(self) -> list[Any]:
        """The forms of the species."""
        return [entry.form for entry in self.counts]

    def counted(self) -> list[Counted]:
        """What was counted, block by block."""
        return [block.counted() for block in self.blocks]

    def survey_values(self) -> dict[str, Any]:
        """Season, year, day, person, notes."""
        return {name: self._fields[name].data for name in ("season", "year", "surveyed_on", "person", "notes")}

    def refuse(self, errors: Mapping[str, str]) -> None:
        """Put each refusal at its field, those of a block at the block's."""
        blocks = {block.at: block for block in self.blocks}
        others = {}
        for name, told in errors.items():
            parts = name.split("-")
            block = blocks.get(int(parts[1])) if len(parts) == 3 and parts[0] == "counts" else None
            if block is None:
                others[name] = told
            elif parts[2] == "causes":
                self.row_errors[f"counts-{block.at}-causes"] = told
            else:
                field = block._fields[parts[2]]
                field.errors = [*field.errors, told]
        super().refuse(others)

    def faults(self) -> dict[str, str | LazyProxy]:
        """Everything that was refused, by the id of its control; species are named."""
        found: dict[str, Any] = {}
        for at, told in enumerate(self.form_errors):
            found["" if not at else f"content-{at}"] = told
        for field in self:
            if field.name != "counts" and field.errors:
                found[field.id] = f"{field.label.text}: {' '.join(map(str, field.errors))}"
        for block in self.blocks:
            name = block.species_id.write(block.species_id.data) if block.species_id.data else _("Another species")
            for field in block:
                if field.errors:
                    found[field.id] = f"{name}, {field.label.text}: {' '.join(map(str, field.errors))}"
            if (told := self.row_errors.get(f"counts-{block.at}-causes")) is not None:
                found[f"counts-{block.at}-causes"] = f"{name}: {told}"
        return found

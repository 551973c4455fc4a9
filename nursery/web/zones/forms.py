"""The forms of zones: the file, what it is, and what is said about one zone."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import BooleanField, Field, FileField, Form
from wtforms.validators import ValidationError

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.zones import ZoneKind
from nursery.services.zones import KIND_LABELS, ZoneLook
from nursery.services.zones.changing import BOUNDS
from nursery.web.fields import ChoiceField, ListInput, NotesField, NumberField, SpeciesField, TextField
from nursery.web.forms import Group, RecordForm


class ZoneForm(RecordForm):
    """What is said about a zone; its outline stays."""

    code = TextField(_l("Code"), most=80, needed=True, description=_l("As populations and sites bear it."))
    name = TextField(_l("Name"), most=120)
    lowest_m = NumberField(_l("From"), bounds=BOUNDS["lowest_m"], unit="m", description=_l("Altitude limit."))
    highest_m = NumberField(_l("Up to"), bounds=BOUNDS["highest_m"], unit="m", description=_l("Altitude limit."))
    jurisdiction = TextField(_l("Jurisdiction"), most=60, description=_l("Whose law it is."))
    source = NotesField(_l("Source"), description=_l("Where the outline was published, and when."))

    groups = (
        Group(_l("The zone"), (("code", "name"), ("lowest_m", "highest_m"))),
        Group(_l("Where it is from"), (("jurisdiction",), ("source",))),
        Group(_l("More"), (("notes",),)),
    )


class FileForm(Form):
    """A file, or its pasted text."""

    file = FileField(
        _l("GeoJSON file"),
        description=_l("One feature for each zone, in longitude and latitude of WGS 84. Up to 20 MB."),
        render_kw={"accept": ".geojson,.json,application/geo+json,application/json"},
    )
    text = NotesField(_l("Or its text"), description=_l("Paste the whole of it, from the first { to the last }."))

    def validate_file(self, field: Any) -> None:
        """One of the two."""
        if not getattr(field.data, "filename", "") and not self.text.data:
            raise ValidationError(_("Choose a file, or paste its text."))


class PropertyField(Field):
    """A property of the file's features."""

    widget = ListInput()

    def __init__(self, label: Any = None, **options: Any) -> None:
        self.data: str = ""
        super().__init__(label, **options)
        self.offered: Sequence[tuple[str, str]] = ()

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The property's name; the service knows whether the file has it."""
        if valuelist:
            self.data = valuelist[0]

    def options(self) -> Sequence[tuple[str, str]]:
        """Names with the first value of each."""
        return [("", _("None")), *self.offered]

    def chosen(self) -> str:
        """The property now chosen."""
        return str(self.data or "")


class LookForm(Form):
    """What a file is, and which property is which."""

    kind = ChoiceField(_l("What the zones are"), kind=ZoneKind, labels=KIND_LABELS, default=ZoneKind.REGION)
    species_id = SpeciesField(
        _l("For one species"),
        description=_l("Left empty, the zones hold for every species that has none of its own."),
    )
    jurisdiction = TextField(_l("Jurisdiction"), most=60, description=_l("Whose law it is."))
    source = TextField(
        _l("Source"), most=400, needed=True, description=_l("Where the outlines were published, and when.")
    )
    code = PropertyField(_l("Property with the code"))
    name = PropertyField(_l("Property with the name"))
    lowest = PropertyField(_l("Property with the lowest altitude"))
    highest = PropertyField(_l("Property with the highest altitude"))
    replaces = BooleanField(_l("Zones on the map with the same code make room: they are archived"))

    def asked(self) -> dict[str, Any]:
        """The choices that were sent; what was not is guessed."""
        return {name: field.data for name, field in self._fields.items() if field.raw_data or name == "replaces"}

    def offer(self, look: ZoneLook) -> None:
        """Show the file's properties, and what was guessed."""
        offered = [
            (one.key, f"{one.key} · {one.example[:40]}" if one.example else one.key) for one in look.properties
        ]
        for name in ("code", "name", "lowest", "highest"):
            field = self._fields[name]
            field.offered, field.data = offered, getattr(look.settings, name)

    def validate_species_id(self, field: Any) -> None:
        """A basin is one for all species."""
        if field.data is not None and self.kind.data is ZoneKind.BASIN:
            raise ValidationError(_("A river basin holds for every species. Leave the species out."))

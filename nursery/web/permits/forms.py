"""The forms of a permit and of its lines."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import datetime as dt
import json
from enum import StrEnum
from typing import Any

from wtforms import FileField, Form

from nursery.errors import Invalid
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import PermitLine
from nursery.models.permits import AreaKind
from nursery.services import limits
from nursery.services.permits.geojson import MOST_BYTES, read_area
from nursery.services.permits.lines import AREA_LABELS, CAP_PIECES
from nursery.services.permits.records import BOUNDS
from nursery.web.fields import (
    ChoiceField,
    DayField,
    NotesField,
    NumberField,
    SpeciesField,
    TextField,
    WholeNumberField,
)
from nursery.web.forms import Group, RecordForm
from nursery.web.session import db


class PermitForm(RecordForm):
    """One permit of one authority; its species are lines of their own."""

    number = TextField(_l("Number"), most=60, needed=True, description=_l("As the authority writes it."))
    authority = TextField(_l("Authority"), most=120, needed=True)
    holder = TextField(_l("Holder"), most=120, description=_l("Whose name is on it."))
    valid_from = DayField(_l("Valid from"), needed=True)
    valid_to = DayField(_l("Valid until"), needed=True, description=_l("The last day."))
    notice_days = WholeNumberField(
        _l("Notice before, days"),
        bounds=BOUNDS["notice_days"],
        description=_l("Days before a collection by which the authority is to be told. Empty: none asked for."),
    )
    report_days = WholeNumberField(
        _l("Report after, days"),
        bounds=BOUNDS["report_days"],
        description=_l("Days after a collection by which its quantity is to be reported. Empty: none asked for."),
    )
    conditions = NotesField(_l("Conditions"), description=_l("As the permit has them."))

    groups = (
        Group(_l("The permit"), (("number", "authority"), ("holder",), ("valid_from", "valid_to"))),
        Group(_l("What it asks for"), (("notice_days", "report_days"), ("conditions",))),
        Group(_l("More"), (("notes",),)),
    )

    def labels(self) -> dict[str, str]:
        """With what the history tells beside the columns."""
        return super().labels() | {"file_name": _("File"), "line": _("Species"), "mark": _("Notice")}

    def show(self, name: str, value: Any) -> str:
        """A notice as the history tells it: the day from which it was given, or the trip."""
        if name != "mark":
            return super().show(name, value)
        about, _blank, day = str(value).partition(" ")
        try:
            return _("collecting from %(day)s", day=format_date(dt.date.fromisoformat(day)))
        except ValueError:
            return _("a trip") if about == "trip" else str(value)

    def values(self) -> dict[str, Any]:
        """Columns; no notice is none asked for."""
        return super().values() | {"notice_days": self.notice_days.data or 0}


class CapUnit(StrEnum):
    """What a cap is typed in."""

    KILOGRAMS = "kg"
    GRAMS = "g"
    PIECES = "pieces"


UNIT_LABELS = {CapUnit.KILOGRAMS: _l("kg"), CapUnit.GRAMS: _l("g"), CapUnit.PIECES: _l("pieces")}
_IN_MG = {CapUnit.KILOGRAMS: 1_000_000, CapUnit.GRAMS: 1000}
#: Told in the unit that was typed; what fits can be reckoned in milligrams.
_MOST = {CapUnit.KILOGRAMS: limits.AMOUNT_KG, CapUnit.GRAMS: limits.AMOUNT_G, CapUnit.PIECES: CAP_PIECES}


class LineForm(Form):
    """One species of a permit."""

    species_id = SpeciesField(
        _l("Species"), needed=True, description=_l("Scientific name, synonym or common name.")
    )
    cap = NumberField(
        _l("Most that may be collected"),
        description=_l("Weight as collected, or pieces. Left empty, the permit sets no cap."),
    )
    unit = ChoiceField(_l("Measured in"), kind=CapUnit, labels=UNIT_LABELS, default=CapUnit.KILOGRAMS)
    area_kind = ChoiceField(_l("Where"), kind=AreaKind, labels=AREA_LABELS, default=AreaKind.ANYWHERE)
    places = NotesField(
        _l("Named places"),
        description=_l("Basins, region codes or population codes, with semicolons between them."),
    )
    polygon = NotesField(
        _l("Outline as GeoJSON"),
        description=_l(
            "A Polygon or MultiPolygon in WGS 84. Each point is longitude first, then latitude: [-5.3, 39.4] lies"
            " 5.3° west and 39.4° north."
        ),
    )
    file = FileField(
        _l("Or a GeoJSON file"),
        description=_l("It takes the place of the text above."),
        render_kw={"accept": ".geojson,.json"},
    )

    @classmethod
    def stored(cls, line: PermitLine) -> dict[str, Any]:
        """What to fill the form with."""
        cap, unit = line.cap_pieces, CapUnit.PIECES
        if line.cap_mg is not None:
            unit = CapUnit.GRAMS if line.cap_mg % 1_000_000 and line.cap_mg < 1_000_000 else CapUnit.KILOGRAMS
            return cls._filled(line, line.cap_mg / _IN_MG[unit], unit)
        return cls._filled(line, cap, unit if cap is not None else CapUnit.KILOGRAMS)

    @staticmethod
    def _filled(line: PermitLine, cap: float | None, unit: CapUnit) -> dict[str, Any]:
        return {
            "species_id": line.species_id,
            "cap": cap,
            "unit": unit,
            "area_kind": line.area_kind,
            "places": line.places,
            "polygon": json.dumps(line.polygon) if line.polygon else "",
        }

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """The cap within bounds in the unit that was typed."""
        sound = bool(super().validate(*arguments, **options))
        refusal = self._refuse_cap() if not self.cap.errors else None
        if refusal:
            self.cap.errors = [refusal]
        return sound and refusal is None

    def _refuse_cap(self) -> str | None:
        cap, unit = self.cap.data, self.unit.data
        if cap is None:
            return None
        if unit is CapUnit.PIECES and cap != int(cap):
            return _("Pieces are whole. Leave the decimals out, or choose a weight.")
        if refusal := _MOST[unit].refusal(cap):
            return refusal
        if unit is not CapUnit.PIECES and round(cap * _IN_MG[unit]) < 1:
            return _("A cap must be above zero. To leave the species out, remove its line.")
        return None

    def values(self) -> dict[str, Any]:
        """Columns; the outline is read only where it is asked for.

        Raises
        ------
        Invalid
            At ``polygon``, when the outline cannot be read.
        """
        cap, unit = self.cap.data, self.unit.data
        by_piece = unit is CapUnit.PIECES
        text = self._outline()
        return {
            "species_id": self.species_id.data,
            "cap_mg": None if cap is None or by_piece else round(cap * _IN_MG[unit]),
            "cap_pieces": int(cap) if cap is not None and by_piece else None,
            "area_kind": self.area_kind.data,
            "places": self.places.data,
            "polygon": read_area(db(), text) if text and self.area_kind.data is AreaKind.POLYGON else None,
        }

    def _outline(self) -> str:
        sent = self.file.data
        if not getattr(sent, "filename", ""):
            return str(self.polygon.data)
        content = sent.read(MOST_BYTES + 1)
        sent.close()
        try:
            return str(content.decode("utf-8-sig"))
        except UnicodeDecodeError:
            raise Invalid({"file": _("This file is no text, so it is no GeoJSON. Choose another.")}) from None

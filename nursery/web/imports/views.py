"""What the preview page draws."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from flask import url_for

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.importing import Finding, Preview
from nursery.services.importing.columns import Shape
from nursery.services.importing.previewing import CHANGES_SHOWN

#: Refused cells listed on the page; the file has all of them.
LISTED = 500
_CODES = (Shape.CODE, Shape.LOT_CODE)
#: Records that are referred to by their code.
_CODED = frozenset({"sites", "lots", "batches", "loads", "populations", "trips"})


class PreviewPage:
    """A preview in words and links."""

    def __init__(self, found: Preview, upload_id: int) -> None:
        self.found = found
        self.upload_id = upload_id

    @property
    def address(self) -> str:
        """Where the form is sent."""
        return url_for("imports.preview", upload_id=self.upload_id)

    @property
    def refused_url(self) -> str:
        """All refused rows as a file."""
        return url_for("imports.refused_rows", upload_id=self.upload_id, m=self.found.mapping)

    @property
    def map_url(self) -> str:
        """The same preview with codes from the map, or without them again."""
        on = None if self.found.from_map else "1"
        return url_for("imports.preview", upload_id=self.upload_id, m=self.found.mapping, map=on)

    @cached_property
    def map_codes(self) -> Sequence[tuple[int, str, str, str]]:
        """The first codes that the map would fill in: row, place, what it is, code."""
        labels = {column.key: str(column.label) for column in self.found.kind.columns}
        return [(one.row, one.place, labels[one.field], one.code) for one in self.found.map_codes[:LISTED]]

    @cached_property
    def findings(self) -> Sequence[Finding]:
        """The first of them."""
        return self.found.findings[:LISTED]

    @cached_property
    def code_places(self) -> frozenset[int]:
        """Columns of the file that hold codes: a code is not broken into lines."""
        fields = enumerate(self.found.kind.column(key) for key in self.found.mapping)
        return frozenset(
            place for place, field in fields
            if field is not None and (field.shape in _CODES or field.refers_to in _CODED)
        )  # fmt: skip

    @property
    def changes_count(self) -> str | None:
        """That there are more changes than are shown."""
        if len(self.found.changes) < CHANGES_SHOWN:
            return None
        return _("The first %(num)s are shown.", num=format_number(CHANGES_SHOWN))

    @property
    def findings_count(self) -> str:
        """How many are shown."""
        total = len(self.found.findings)
        if total <= LISTED:
            return ngettext("%(num)s problem", "%(num)s problems", total)
        return ngettext(
            "The first 500 of %(num)s problem are shown; the file has all.",
            "The first 500 of %(num)s problems are shown; the file has all.",
            total,
        )

    @property
    def layout(self) -> Sequence[tuple[str, str]]:
        """How the file was written."""
        layout = self.found.layout
        separators = {",": _("comma"), ";": _("semicolon"), "\t": _("tab"), "|": _("vertical bar")}
        rows = [(_("File"), self.found.file_name)]
        if layout.form == "xlsx":
            rows += [(_("Kind of file"), _("Excel workbook")), (_("Sheet"), layout.sheet)]
        else:
            rows += [
                (_("Kind of file"), _("Text (CSV)")),
                (_("Between cells"), separators.get(layout.separator, layout.separator)),
                (_("Characters"), layout.encoding.upper()),
            ]
        return [*rows, (_("Row of the headings"), str(layout.header_row))]

    @cached_property
    def columns(self) -> Sequence[dict[str, str]]:
        """The file's columns, with the field each one fills and a cell of it."""
        first = self.found.samples[0][1] if self.found.samples else ()
        return [
            {
                "heading": heading or _("(no heading)"),
                "key": key,
                "written": first[place].written if place < len(first) else "",
            }
            for place, (heading, key) in enumerate(zip(self.found.headings, self.found.mapping, strict=True))
        ]

    @property
    def ignored(self) -> Sequence[str]:
        """Headings of the columns that are left out."""
        return [column["heading"] for column in self.columns if not column["key"]]

    @property
    def shown_places(self) -> Sequence[int]:
        """Places of the columns that are read, for the table of first rows."""
        return [place for place, key in enumerate(self.found.mapping) if key]

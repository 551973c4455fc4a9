"""The form that takes a file."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from wtforms import FileField, Form, RadioField, SelectChoice
from wtforms.validators import ValidationError

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.importing import KINDS


class UploadForm(Form):
    """What the file holds, and the file."""

    kind = RadioField(
        _l("What the file holds"),
        choices=[SelectChoice(kind.key, kind.label) for kind in KINDS.values()],
        validate_choice=False,
    )
    file = FileField(_l("File"), description=_l("CSV or Excel workbook (.xlsx), up to 50,000 rows."))

    def validate_kind(self, field: Any) -> None:
        """One of the kinds."""
        if field.data not in KINDS:
            raise ValidationError(_("Choose what the file holds."))

    def validate_file(self, field: Any) -> None:
        """A file with a name; browsers send an empty one when none was chosen."""
        if not getattr(field.data, "filename", ""):
            raise ValidationError(_("Choose a file."))

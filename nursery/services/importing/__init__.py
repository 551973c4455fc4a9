"""Bringing populations, lots, sites and targets in from CSV and XLSX files: look first, then all or nothing."""

from nursery.services.importing.confirming import Outcome, confirm, last_outcome, preview_upload
from nursery.services.importing.files import make_template, refused_rows_csv
from nursery.services.importing.kinds import KINDS, Kind, find_kind
from nursery.services.importing.outcome import Finding, Preview
from nursery.services.importing.previewing import preview
from nursery.services.importing.uploads import find_upload, keep_upload

__all__ = [
    "KINDS", "Finding", "Kind", "Outcome", "Preview", "confirm", "find_kind", "find_upload", "keep_upload",
    "last_outcome", "make_template", "preview", "preview_upload", "refused_rows_csv",
]  # fmt: skip

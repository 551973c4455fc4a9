"""Files in one zip: the same content gives the same bytes."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Mapping

ZIP_TYPE = "application/zip"


def zipped(files: Mapping[str, bytes], day: dt.date) -> bytes:
    """Files by their names, all dated ``day``."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            info = zipfile.ZipInfo(name, (day.year, day.month, day.day, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return buffer.getvalue()

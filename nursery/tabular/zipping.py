"""Files in one zip: the same content gives the same bytes."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Mapping

ZIP_TYPE = "application/zip"
#: A zip knows no earlier day; a machine whose clock has stopped may be there.
EARLIEST = dt.date(1980, 1, 1)


def zipped(files: Mapping[str, bytes], day: dt.date) -> bytes:
    """Files by their names, all dated ``day``."""
    day = max(day, EARLIEST)
    stamp = (day.year, day.month, day.day, 0, 0, 0)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            info = zipfile.ZipInfo(name, stamp)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return buffer.getvalue()

"""From bytes to text: which encoding a file was written in."""

from __future__ import annotations

import codecs
import re

from nursery.errors import Invalid
from nursery.i18n import gettext as _

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    # The 32-bit mark begins with the 16-bit one, so it is asked first.
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
#: Control characters that no table holds; tab, line ends, form feed and Word's vertical tab may stand.
_CONTROLS = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


def decode(content: bytes) -> tuple[str, str]:
    """The text and the name of its encoding; refuses what is no text."""
    for encoding in _candidates(content):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if _CONTROLS.search(text):
            break
        return text.removeprefix("\ufeff"), encoding.removesuffix("-sig")
    raise Invalid(
        {
            "file": _(
                "This file is not a table that can be read. Save it as CSV (text) or as an Excel workbook (.xlsx)."
            )
        }
    )


def _candidates(content: bytes) -> tuple[str, ...]:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return (encoding,)
    start = content[:2000]
    if start.count(0) * 3 > len(start):
        # Every second byte of western text in UTF-16 is zero; which half tells the byte order.
        return ("utf-16-be",) if start[::2].count(0) > start[1::2].count(0) else ("utf-16-le",)
    # Five bytes mean nothing in Windows' western code page; latin-1 would make control characters of them.
    return ("utf-8", "cp1252")

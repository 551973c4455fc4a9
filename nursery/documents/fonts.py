"""The product's own fonts as files that a PDF can take in, each weight made once in the life of the program.

The fonts that come with the product vary in weight; making one weight of them takes a good part of a second, most
of it for tables of kerning that the PDF library does not read. They are left out here.
"""

from __future__ import annotations

import tempfile
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

_FONTS = files("nursery") / "static" / "fonts"
_SHAPING = ("GPOS", "GSUB", "GDEF")


@lru_cache(maxsize=1)
def _made() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="nursery-fonts-")


@lru_cache(maxsize=16)
def font_file(name: str, weight: int) -> Path:
    """A font of ``nursery/static/fonts`` in one weight (100–900), as a file."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415 -- slow import
    from fontTools.varLib import instancer  # noqa: PLC0415

    made = Path(_made().name) / f"{name}-{weight}.ttf"
    font = TTFont(str(_FONTS / f"{name}.woff2"), recalcTimestamp=False)
    for table in _SHAPING:
        if table in font:
            del font[table]
    font.flavor = None
    instancer.instantiateVariableFont(font, {"wght": weight}, inplace=True, static=True).save(made)
    return made

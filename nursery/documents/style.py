"""How charts look: paper, ink and leaf as on the screens, and the same picture on every machine."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import lru_cache

#: Drawing is done by one thread at a time: the library keeps fonts and settings in common.
DRAWING = threading.RLock()

SHEET, BAND, INK, SOFT, RULE, BRICK = "#fffcf5", "#f4eee0", "#2b2a23", "#5f5a4b", "#ddd2b9", "#962d1b"
#: Text is measured with the font that comes with the library and shown in the reader's own sans serif.
_MEASURED = "DejaVu Sans"
_SHOWN = "'Source Sans 3', 'Segoe UI', 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"


@dataclass(frozen=True, slots=True)
class Fill:
    """Ground, hatching and line of a kind of bar: two kinds never differ by colour alone.

    Hatching is of lines: each circle would be written out, and swell the file.
    """

    ground: str
    hatch: str
    line: str


#: Phases by their keys in the catalogue.
FILLS: dict[str, Fill] = {
    "soak": Fill("#c9dde6", "---", "#245268"),
    "scarify": Fill("#efd7a0", "xxx", "#7d5100"),
    "warm-stratify": Fill("#f4ddb0", "///", "#7d5100"),
    "cold-stratify": Fill("#dbe8ee", "\\\\\\", "#245268"),
    "heat": Fill("#f1c3a8", "+++", "#962d1b"),
    "sprout": Fill("#e6ecc8", "--\\\\", "#5d6b1f"),
    "cold-store": Fill("#dbe8ee", "--||", "#245268"),
    "callus": Fill("#efe3c8", "--", "#5f5a4b"),
    "emergence": Fill("#dcebd2", ".", "#3c6e3f"),
    "rooting": Fill("#dcebd2", "|||", "#3c6e3f"),
    "pricking-out": Fill("#a9cdb0", "xx", "#1d5547"),
    "growing": Fill("#8db5a2", "", "#1d5547"),
    "hardening": Fill("#cfc3a0", "//", "#5f5a4b"),
}
WAIT = Fill("#fffcf5", "", "#857c65")
UNKNOWN = Fill("#ebe3d0", "", "#5f5a4b")


@lru_cache(maxsize=1)
def set_style() -> None:
    """Set the library up, once in the life of the program; call it inside ``DRAWING``."""
    import matplotlib as mpl  # noqa: PLC0415 -- slow import

    mpl.rcParams.update(
        {
            "font.family": "sans-serif",
            "font.sans-serif": [_MEASURED],
            "svg.fonttype": "none",
            "svg.hashsalt": "nursery",
            "hatch.linewidth": 0.7,
            "text.parse_math": False,
            "text.color": INK,
            "axes.edgecolor": RULE,
            "axes.facecolor": SHEET,
            "figure.facecolor": SHEET,
            "xtick.color": SOFT,
        }
    )


def with_own_fonts(svg: str) -> str:
    """An SVG whose texts ask for the product's fonts."""
    return svg.replace(f"'{_MEASURED}', sans-serif", _SHOWN)

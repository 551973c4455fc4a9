"""Figures as SVG that carries everything inside and leads nowhere."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from nursery.documents import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def written(figure: Figure, title: str, width: int, height: int) -> bytes:
    """The figure with a title, sized in CSS pixels; without scripts, links or names of other places."""
    buffer = io.StringIO()
    nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
    figure.savefig(buffer, format="svg", metadata=nothing)
    svg = style.with_own_fonts(buffer.getvalue())
    # The declaration names an address, and sizes are meant as pixels.
    svg = re.sub(r"<!DOCTYPE[^>]*>\s*", "", svg)
    svg = re.sub(r'(<svg[^>]*?) width="[^"]*"', rf'\1 width="{width}"', svg, count=1)
    svg = re.sub(r'(<svg[^>]*?) height="[^"]*"', rf'\1 height="{height}"', svg, count=1)
    return re.sub(r"(<svg[^>]*>)", lambda tag: f"{tag[1]}<title>{_escaped(title)}</title>", svg, count=1).encode()


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")

"""What takes long to load of the libraries that make documents, and our own modules that inherit from them.

Nothing of them may be used while a module is imported.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from nursery.later import later

if TYPE_CHECKING:
    import fpdf
    import icalendar
    import segno

    from nursery.documents import paged
    from nursery.documents.papers import canvas as drawing
else:
    fpdf, icalendar, segno = later("fpdf"), later("icalendar"), later("segno")
    paged = later("nursery.documents.paged")
    drawing = later("nursery.documents.papers.canvas")

__all__ = ["drawing", "fpdf", "icalendar", "paged", "segno"]

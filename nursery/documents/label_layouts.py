"""How labels lie on a sheet or a roll. Sizes of common A4 sheets from memory: try one on plain paper first."""

from __future__ import annotations

from dataclasses import dataclass

#: White edge that common printers leave, mm (common practice, no source).
EDGE = 5.0


@dataclass(frozen=True, slots=True)
class Layout:
    """Labels of one size in columns and rows on a page; all in mm."""

    page_width: float
    page_height: float
    columns: int
    rows: int
    width: float
    height: float
    #: Steps from one label to the next, at least its size.
    step_x: float
    step_y: float
    left: float
    top: float

    @property
    def each(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    @property
    def inset(self) -> tuple[float, float]:
        """What stays free inside each label, along and down: most printers leave the edge of a sheet white."""
        if self.each == 1:
            return 0.0, 0.0
        return max(EDGE - self.left, 0.0), max(EDGE - self.top, 0.0)

    def corner(self, position: int) -> tuple[float, float]:
        """Left and upper edge of a label; positions count from 0, along the rows."""
        row, column = divmod(position, self.columns)
        return self.left + column * self.step_x, self.top + row * self.step_y


A4 = (210.0, 297.0)


def _sheet(columns: int, rows: int, width: float, height: float, gap_x: float = 0.0, gap_y: float = 0.0) -> Layout:
    """An A4 sheet with its labels in the middle."""
    step_x, step_y = width + gap_x, height + gap_y
    return Layout(
        *A4, columns, rows, width, height, step_x, step_y,
        left=(A4[0] - columns * step_x + gap_x) / 2, top=(A4[1] - rows * step_y + gap_y) / 2,
    )  # fmt: skip


#: By labels on a sheet and their size.
SHEETS: dict[str, Layout] = {
    "24-70x37": _sheet(3, 8, 70.0, 37.0),
    "24-64x34": _sheet(3, 8, 64.0, 33.9, gap_x=2.5),
    "65-38x21": _sheet(5, 13, 38.1, 21.2, gap_x=2.5),
    "40-52x30": _sheet(4, 10, 52.5, 29.7),
    "21-64x38": _sheet(3, 7, 63.5, 38.1, gap_x=2.5),
    "14-99x38": _sheet(2, 7, 99.1, 38.1, gap_x=2.5),
    "8-105x74": _sheet(2, 4, 105.0, 74.0),
}
#: What a label on a roll may measure: a code needs room on the least, and most printers take no wider.
ROLL_WIDTH, ROLL_HEIGHT = (25.0, 120.0), (15.0, 200.0)


def roll(width: float, height: float) -> Layout:
    """A roll: one label is one page.

    Raises
    ------
    ValueError
        For a label outside `ROLL_WIDTH` and `ROLL_HEIGHT`.
    """
    if not (ROLL_WIDTH[0] <= width <= ROLL_WIDTH[1] and ROLL_HEIGHT[0] <= height <= ROLL_HEIGHT[1]):
        raise ValueError("the label is too small or too large")
    return Layout(width, height, 1, 1, width, height, width, height, 0.0, 0.0)

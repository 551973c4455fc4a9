"""Labels that have room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

#: Left, top, right, bottom.
Box = tuple[float, float, float, float]
#: Which point of a text its coordinates mean, in the words of SVG.
Anchor = Literal["start", "middle", "end"]
#: Width of a letter as a share of the height of a line, on average over a sans serif; common practice, no source.
_LETTER = 0.52
#: Where a label may stand, best first: right, left, above, below its mark.
_SIDES: tuple[tuple[Anchor, float, float], ...] = (
    ("start", 1.0, 0.35),
    ("end", -1.0, 0.35),
    ("middle", 0.0, -1.0),
    ("middle", 0.0, 1.8),
)


@dataclass(frozen=True, slots=True)
class Label:
    """A text's place: its anchor point on the base line, and the box it takes."""

    x: float
    y: float
    anchor: Anchor
    box: Box


def labels(
    x: Sequence[float],
    y: Sequence[float],
    texts: Sequence[str],
    line: float,
    gap: float,
    taken: Sequence[Box] = (),
    size: tuple[float, float] = (np.inf, np.inf),
) -> list[Label | None]:
    """Where the text of each mark stands, or None where it has no room.

    Parameters
    ----------
    x, y
        Of the marks, the most important first.
    texts
        Their labels; an empty one takes no place.
    line
        Height of a line.
    gap
        From the middle of a mark to its label.
    taken
        Boxes that must stay free.
    size
        Of the sheet, which no label leaves.
    """
    boxes: NDArray[np.float64] = np.array(taken, np.float64).reshape(-1, 4)
    found: list[Label | None] = []
    for left, top, text in zip(x, y, texts, strict=True):
        label = _free(left, top, text, line, gap, boxes, size) if text else None
        found.append(label)
        if label is not None:
            boxes = np.vstack([boxes, label.box])
    return found


def box_around(x: float, y: float, half: float) -> Box:
    """The square that a mark takes."""
    return x - half, y - half, x + half, y + half


def text_box(x: float, y: float, text: str, line: float, anchor: Anchor) -> Box:
    """The box of a text whose anchor point lies at x, y on its base line."""
    width = len(text) * line * _LETTER
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
    return left, y - 0.8 * line, left + width, y + 0.25 * line


def is_free(box: Box, boxes: NDArray[np.float64], size: tuple[float, float]) -> bool:
    """Whether a box lies on the sheet and on none of the others."""
    if box[0] < 0 or box[1] < 0 or box[2] > size[0] or box[3] > size[1]:
        return False
    over = (box[0] < boxes[:, 2]) & (boxes[:, 0] < box[2]) & (box[1] < boxes[:, 3]) & (boxes[:, 1] < box[3])
    return not bool(over.any())


def _free(
    x: float,
    y: float,
    text: str,
    line: float,
    gap: float,
    boxes: NDArray[np.float64],
    size: tuple[float, float],
) -> Label | None:
    for anchor, aside, lines in _SIDES:
        at_x, at_y = x + aside * gap, y + lines * (line if anchor != "middle" else gap)
        box = text_box(at_x, at_y, text, line, anchor)
        if is_free(box, boxes, size):
            return Label(at_x, at_y, anchor, box)
    return None

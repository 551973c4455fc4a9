"""Labels that have room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

#: Left, top, right, bottom.
Box = tuple[float, float, float, float]
#: Width of a letter as a share of the height of a line, on average over a sans serif; common practice, no source.
_LETTER = 0.52
#: Where a label may stand, best first: right, left, above, below its mark (shares of its width, line heights).
_SIDES = ((0.0, 0.35), (-1.0, 0.35), (-0.5, -0.6), (-0.5, 1.3))


def labels(
    x: Sequence[float],
    y: Sequence[float],
    texts: Sequence[str],
    line: float,
    gap: float,
    taken: Sequence[Box] = (),
    size: tuple[float, float] = (np.inf, np.inf),
) -> list[tuple[float, float] | None]:
    """Where the text of each mark begins on its base line, or None where it has no room.

    Parameters
    ----------
    x, y
        Of the marks, the most important first.
    texts
        Their labels.
    line
        Height of a line.
    gap
        From the middle of a mark to its label.
    taken
        Boxes (left, top, right, bottom) that must stay free.
    size
        Of the sheet, which no label leaves.
    """
    boxes: NDArray[np.float64] = np.array(
        [
            *taken,
            *(
                (left - gap / 2, top - gap / 2, left + gap / 2, top + gap / 2)
                for left, top in zip(x, y, strict=True)
            ),
        ],
        np.float64,
    ).reshape(-1, 4)
    found: list[tuple[float, float] | None] = []
    for left, top, text in zip(x, y, texts, strict=True):
        place = _free(left, top, len(text) * line * _LETTER, line, gap, boxes, size)
        found.append(None if place is None else place[:2])
        if place is not None:
            boxes = np.vstack([boxes, place[2]])
    return found


def _around(x: float, y: float, half: float) -> Box:
    return x - half, y - half, x + half, y + half


def _free(
    x: float,
    y: float,
    width: float,
    line: float,
    gap: float,
    boxes: NDArray[np.float64],
    size: tuple[float, float],
) -> tuple[float, float, NDArray[np.float64]] | None:
    for share, lines in _SIDES:
        left = x + share * width + (gap if share == 0.0 else -gap if share == -1.0 else 0.0)
        base = y + lines * line + (gap * (1 if lines > 1 else -1) * 0.5 if share == -0.5 else 0.0)
        box = np.array([left, base - 0.8 * line, left + width, base + 0.25 * line])
        if box[0] < 0 or box[1] < 0 or box[2] > size[0] or box[3] > size[1]:
            continue
        over = (box[0] < boxes[:, 2]) & (boxes[:, 0] < box[2]) & (box[1] < boxes[:, 3]) & (boxes[:, 1] < box[3])
        if not over.any():
            return left, base, box
    return None

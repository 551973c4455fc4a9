"""The plan’s calendar as a picture: one row a line, phases as bars, waits pale, today as a line."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from nursery.documents import style
from nursery.documents.chart_bars import draw_row
from nursery.documents.chart_frame import draw_legend, draw_months, draw_today, extent, kinds
from nursery.documents.chart_parts import FOOT, LEGEND_LINE, MONTHS, NARROW, WIDE, Bar, ChartRow, ChartWords
from nursery.documents.svg import written

__all__ = ["Bar", "ChartRow", "ChartWords", "calendar_svg"]


def calendar_svg(rows: Sequence[ChartRow], *, today: dt.date, words: ChartWords, narrow: bool = False) -> bytes:
    """Draw the rows from top to bottom.

    Returns
    -------
    bytes
        An SVG without scripts, styles from elsewhere or links. Bars have ids ``bar-ROW-NUMBER``, waits
        ``wait-ROW-NUMBER``, sowings ``sow-ROW``, plantings ``plant-ROW`` and the line of the day ``today``.
    """
    from matplotlib.figure import Figure  # noqa: PLC0415 -- slow import

    shape = NARROW if narrow else WIDE
    with style.DRAWING:
        style.set_style()
        legend_lines = -(-(len(kinds(rows)) + 4) // shape.legend_columns)
        head = round(MONTHS + LEGEND_LINE * legend_lines)
        body_height = shape.row_height * max(len(rows), 1)
        height = head + body_height + FOOT
        figure = Figure(figsize=(shape.width / 72, height / 72))
        body = (shape.width - shape.label_width - 14) / shape.width
        axes = figure.add_axes((shape.label_width / shape.width, FOOT / height, body, body_height / height))
        first, last = extent(rows, today)
        axes.set_xlim(0, (last - first).days)
        axes.set_ylim(max(len(rows), 1), 0)
        draw_months(axes, first, last, shape)
        for number, row in enumerate(rows):
            draw_row(axes, row, number, first, shape, words)
        draw_today(axes, today, first, last, words, shape)
        draw_legend(figure, rows, words, shape)
        return written(figure, words.title, shape.width, height)

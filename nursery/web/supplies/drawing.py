"""Stock by week as bars, with the safety stock as a line."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.i18n import gettext as _
from nursery.services.supplies.outlook import Outlook
from nursery.services.supplies.words import amount_text
from nursery.services.weeks import Week
from nursery.web.space.drawing import HEAD, Bar, Drawing, months

HEIGHT = 120


def draw_stock(outlook: Outlook, weeks: Sequence[Week]) -> Drawing:
    """What there would be in each week if nothing were ordered; what lacks to the safety stock is hatched."""
    level, safety = outlook.level, outlook.supply.safety_stock
    scale = HEIGHT / max(float(level.max(initial=0.0)), safety, 0.1)
    base, step = HEAD + HEIGHT, 100 / len(weeks)
    bars = []
    for number, week in enumerate(weeks):
        held = max(float(level[number]), 0.0)
        lacks = max(safety - float(level[number]), 0.0) if safety or level[number] < 0 else 0.0
        height, missing = held * scale, min(lacks, max(safety, 0.0)) * scale
        if level[number] < 0:  # below nothing a bar cannot fall: the hatching at least is seen
            missing = max(missing, 6.0)
        bars.append(
            Bar(
                x=round(number * step + step * 0.06, 3), width=round(step * 0.88, 3),
                growing_y=round(base - height, 2), growing_height=round(height, 2), planned_y=0.0,
                planned_height=0.0, over_y=round(base - height - missing, 2), over_height=round(missing, 2),
                title=f"{week.label}, {week.span}: {stock_told(outlook, number)}", url="",
            )
        )  # fmt: skip
    return Drawing(
        height=HEIGHT + HEAD + 22,
        base=base,
        bars=bars,
        area_y=round(base - safety * scale, 2) if safety else None,
        area="",
        months=months(weeks, step),
    )


def stock_told(outlook: Outlook, number: int) -> str:
    """One week of a supply in words."""
    unit, level = outlook.supply.unit, float(outlook.level[number])
    if level < 0:
        return _("%(missing)s are missing", missing=amount_text(-level, unit))
    if level < outlook.supply.safety_stock:
        return _("%(held)s, below the safety stock", held=amount_text(level, unit))
    return amount_text(level, unit)

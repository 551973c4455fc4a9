"""Age and type of planting stock, as papers tell them."""

from __future__ import annotations

import datetime as dt
import math
import re

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import DispatchLine
from nursery.planning.words import Method
from nursery.services.papers.consignments import Part, plants_of

#: A growing season counts when this day (month, day) passed in it: common practice, no source.
_MIDSUMMER = (7, 1)


def age_years(sown_on: dt.date, day: dt.date) -> int:
    """Growing seasons from sowing to a day; 0 in the first."""
    first = sown_on.year if (sown_on.month, sown_on.day) <= _MIDSUMMER else sown_on.year + 1
    last = day.year if (day.month, day.day) >= _MIDSUMMER else day.year - 1
    return max(last - first + 1, 0)


def age_text(part: Part, day: dt.date) -> str:
    """The age of a part's plants, and how they were raised."""
    ages = sorted({age_years(line.batch.sown_on, day) for line in part.lines})
    told = [ngettext("%(num)s year", "%(num)s years", years) if years else _("under one year") for years in ages]
    types = dict.fromkeys(_stock(line) for line in part.lines)
    return f"{' / '.join(told)}; {', '.join(types)}"


def container_text(part: Part) -> str:
    """Bare roots, or container and volume of a cell."""
    return "; ".join(dict.fromkeys(_container(line) for line in part.lines))


def trays_of(line: DispatchLine) -> int:
    """Containers of several cells that the plants of a line fill; 0 for bare roots and single pots."""
    cells = line.batch.cells_per_tray
    return math.ceil(plants_of(line) / cells) if cells and cells > 1 else 0


def in_trays(line: DispatchLine) -> list[int]:
    """Plants in each tray of a line: all are full but the last; none for bare roots and single pots."""
    full, rest = divmod(plants_of(line), line.batch.cells_per_tray or 1)
    return [line.batch.cells_per_tray or 0] * full + [rest] * bool(rest) if trays_of(line) else []


def units_of(line: DispatchLine) -> int:
    """Trade units of a line: its trays, or the batch as one."""
    return max(trays_of(line), 1)


def trays_text(part: Part) -> str:
    """Trays of a part, in all."""
    trays = sum(trays_of(line) for line in part.lines)
    return format_number(trays) if trays else _("none")


def _stock(line: DispatchLine) -> str:
    batch = line.batch
    if batch.method is Method.CUTTINGS:
        raised = _("rooted cuttings")
    elif batch.method is Method.PRICKED_OUT:
        raised = _("seedlings, pricked out")
    else:
        raised = _("seedlings")
    return f"{raised}, {_('bare roots') if batch.method is Method.BAREROOT else _('container')}"


def _container(line: DispatchLine) -> str:
    batch = line.batch
    if batch.container is None:
        return _("bare roots") if batch.method is Method.BAREROOT else _("flats")
    name, volume = batch.container.name, format_number(batch.container.cell_volume_cm3, 1)
    if re.search(rf"(?<![\d.,]){re.escape(volume)}\s*cm(³|3)", name):
        return name  # the name tells it
    return _("%(name)s, %(volume)s cm³", name=name, volume=volume)

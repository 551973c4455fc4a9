"""Age and type of planting stock, as papers tell them."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import DispatchLine
from nursery.planning.words import Method
from nursery.services.dispatches.trays import counts_in_trays, in_each, plants_of
from nursery.services.papers.consignments import Part

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


def container_text(lines: Sequence[DispatchLine]) -> str:
    """Bare roots, or container and volume of a cell."""
    return "; ".join(dict.fromkeys(_container(line) for line in lines))


def trays_of(part: Part, line: DispatchLine) -> int:
    """Containers of several cells in which a line's plants travel; 0 for bare roots, flats and single pots."""
    return (part.trays[line.id] or 0) if _has_cells(line) else 0


def in_trays(part: Part, line: DispatchLine) -> list[int]:
    """Plants in each such container of a line."""
    return in_each(line.batch, plants_of(line), trays_of(part, line))


def units_of(part: Part, line: DispatchLine) -> int:
    """Trade units of a line: its containers of several cells, or the batch as one."""
    return max(trays_of(part, line), 1)


def without_trays(part: Part) -> DispatchLine | None:
    """A line of which nobody wrote down in how many containers of several cells it went."""
    return next((line for line in part.lines if _has_cells(line) and part.trays[line.id] is None), None)


def trays_text(part: Part) -> str:
    """Containers of several cells of a part, in all."""
    trays = sum(trays_of(part, line) for line in part.lines)
    return format_number(trays) if trays else _("none")


def _has_cells(line: DispatchLine) -> bool:
    return counts_in_trays(line.batch) and line.batch.cells_per_tray is not None


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

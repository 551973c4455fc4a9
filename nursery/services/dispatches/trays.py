"""In how many trays the plants of a load stand: as written down, else as they stand on the benches today."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, DispatchLine
from nursery.models.dispatches import DispatchStatus
from nursery.planning.rounding import whole
from nursery.planning.words import Method
from nursery.services.batches.words import plants_text, trays_text


def counts_in_trays(batch: Batch) -> bool:
    """Whether its plants stand in trays or flats; those of beds and single pots are counted one by one."""
    return batch.method is not Method.BAREROOT and batch.cells_per_tray != 1


def plants_of(line: DispatchLine) -> int:
    """Plants of a line: what was sent, else what was asked for."""
    return line.plants if line.sent is None else line.sent


def trays_by_line(lines: Sequence[DispatchLine]) -> dict[int, int | None]:
    """Trays by line id, of one load's lines in the order of loading.

    None for what stands in no trays, and for a load that left before trays were kept.
    """
    found: dict[int, int | None] = {}
    before: dict[int, int] = defaultdict(int)
    for line in lines:
        plants = plants_of(line)
        if not counts_in_trays(line.batch) or not plants:
            found[line.id] = None
        elif line.trays is not None or line.act:
            found[line.id] = line.trays
        else:
            found[line.id] = trays_for(line.batch, plants, before[line.batch_id])
        before[line.batch_id] += plants
    return found


def trays_for(batch: Batch, plants: int, before: int = 0) -> int:
    """Whole trays that so many plants fill, all trays being as full as they are on average.

    ``before`` are plants of the batch in the same load whose trays are reckoned already: the two never take more
    trays than both together fill, as long as the cells hold them.
    """
    if not batch.trays or not batch.alive:  # nothing to go by but full trays
        return max(math.ceil(plants / (batch.cells_per_tray or plants)), 1)
    each = batch.alive / batch.trays
    together = int(whole((before + plants) / each)) - int(whole(before / each))
    return max(together, least_trays(batch, plants), 1)


def least_trays(batch: Batch, plants: int) -> int:
    """Trays that hold so many plants of a batch at the least: its cells hold one each, or what stands in them."""
    if batch.cells_per_tray is None:
        return 1
    each = batch.alive / batch.trays if batch.trays else 0.0
    return int(whole(plants / max(batch.cells_per_tray, each)))


def check_trays(batch: Batch, plants: int, trays: int, field: str, *, left: bool = False) -> None:
    """Refuse trays that cannot be: none is right for plants that were taken out of them.

    Those of plants that ``left`` long ago are not held against the trays in which the batch stands now.
    """
    if not counts_in_trays(batch):
        raise Invalid({field: _("%(batch)s stands in no trays. Leave them empty.", batch=batch.code)})
    most = plants if left or not batch.trays else min(batch.trays, plants)
    if not 0 <= trays <= most:
        told = (
            _("%(plants)s stand in no more trays than that. Give from 0 to %(most)s.",
              plants=plants_text(plants), most=most)
            if most == plants
            else _("%(batch)s stands in %(trays)s, and no more can go. Give from 0 to %(most)s.",
                   batch=batch.code, trays=trays_text(batch.trays), most=most)
        )  # fmt: skip
        raise Invalid({field: told})
    if trays and trays < (least := least_trays(batch, plants)):
        raise Invalid(
            {
                field: _(
                    "%(plants)s of %(batch)s need at least %(trays)s. Give as many, or 0 where they were taken out"
                    " of their trays.",
                    plants=plants_text(plants),
                    batch=batch.code,
                    trays=trays_text(least),
                )
            }
        )


def settle_line(line: DispatchLine, stated: int | None) -> None:
    """What goes of a line is known (``sent``): its trays are those stated, or a share of those kept."""
    going = plants_of(line)
    if not going:
        line.trays = None
    elif stated is not None:
        check_trays(line.batch, going, stated, f"trays-{line.id}")
        line.trays = stated
    elif line.trays is not None and going < line.plants:
        line.trays = int(whole(line.trays * going / line.plants))


def trays_out(line: DispatchLine) -> int:
    """Trays of a line that left and have not come back."""
    return max((line.trays or 0) - sum(one.trays or 0 for one in line.returns), 0)


def trays_back(line: DispatchLine, plants: int) -> int | None:
    """Trays in which plants of a line come back, in proportion to those that left; None where nobody knows."""
    if line.trays is None or not line.sent:
        return None
    return min(int(whole(line.trays * plants / line.sent)), trays_out(line))


def keep_trays(lines: Sequence[DispatchLine]) -> None:
    """From now on the lines have the trays reckoned today."""
    for line in lines:
        if line.dispatch.status is DispatchStatus.PLANNED and line.trays is None:
            line.trays = trays_by_line(line.dispatch.lines)[line.id]


def all_trays(numbers: Iterable[int | None]) -> int | None:
    """Trays of several lines together; None where none has any."""
    known = [number for number in numbers if number is not None]
    return sum(known) if known else None


def in_each(batch: Batch, plants: int, trays: int) -> list[int]:
    """Plants in each of so many trays: as many as stand in a tray of the batch, and in the last what is left.

    Where that leaves the last one empty, or does not come to all plants, they are shared out evenly.
    """
    if not trays:
        return []
    full = math.ceil(batch.alive / batch.trays) if batch.alive and batch.trays else batch.cells_per_tray or 1
    for each in (full, math.ceil(plants / trays)):
        last = plants - each * (trays - 1)
        if 0 < last <= each:
            return [each] * (trays - 1) + [last]
    least, more = divmod(plants, trays)
    return [least + 1] * more + [least] * (trays - more)

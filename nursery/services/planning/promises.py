"""What populations can give to each line that waits for seed, need by need, as if the line were alone."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import CollectionNeed, NeedPart, Plan, PlanLine
from nursery.planning.plan_needs import LEAST_MOTHERS
from nursery.planning.quantities import grams_of_seeds
from nursery.planning.rounding import whole
from nursery.services.needs import Sheet, plants_first, read_sheets
from nursery.services.programme.allotting import Allotting
from nursery.services.programme.picks import NeedPlan
from nursery.services.programme.reading import read_permission


@dataclass(frozen=True, slots=True)
class Promise:
    """One need of one line: a sheet of the line's part alone, and the populations that give it."""

    line: PlanLine
    sheet: Sheet
    #: None where the season is over.
    given: NeedPlan | None

    @property
    def need(self) -> CollectionNeed:
        """The line's part of the need."""
        return self.sheet.need

    @property
    def lacking(self) -> float:
        """What the known populations cannot give, in the unit of ``sheet.wanted``."""
        return self.sheet.wanted if self.given is None else self.given.lacking


def read_promises(
    session: Session, plan: Plan, lines: Collection[PlanLine], *, today: dt.date
) -> dict[int, list[Promise]]:
    """What each line is promised, by its id; in a fixed number of queries.

    Lines are promised seed in the order of their seasons, plants before shares: what one was promised of a stand
    or a permit, the others of its species lack. So all lines of a species are looked at, whichever are asked for.
    """
    asked, species = {line.id for line in lines}, {line.species_id for line in lines}
    if not asked:
        return {}
    waiting = session.execute(
        select(NeedPart, PlanLine)
        .join(NeedPart.line)
        .join(NeedPart.need)
        .where(PlanLine.plan_id == plan.id, PlanLine.species_id.in_(species))
        .order_by(*plants_first(), PlanLine.id)
    ).all()
    if asked.isdisjoint(line.id for _part, line in waiting):
        return {}
    sheets = read_sheets(session, plan, {part.need_id for part, _line in waiting})
    permission = read_permission(session, list(sheets.values()), today=today)
    allotting: defaultdict[int, Allotting] = defaultdict(lambda: Allotting(permission))
    count = Counter(part.line_id for part, _line in waiting)
    found: defaultdict[int, list[Promise]] = defaultdict(list)
    for part, line in waiting:
        sheet = _of_part(sheets[part.need_id], part, line, is_alone=line.mix is None and count[line.id] == 1)
        is_over = sheet.need.closes_on < today
        given = None if is_over else allotting[line.species_id].need(sheet)
        found[line.id].append(Promise(line, sheet, given))
    return {line_id: promises for line_id, promises in found.items() if line_id in asked}


def _of_part(sheet: Sheet, part: NeedPart, line: PlanLine, *, is_alone: bool) -> Sheet:
    """The sheet of a need as if it were for one line: its amount, rounded up to what a person weighs or counts."""
    need, missing = sheet.need, part.seeds + (0 if is_alone else _to_round_trays(line))
    if need.grams is None:
        seeds, grams = _round_up(missing), None
        share = seeds / max(need.seeds, 1)
    else:
        exact = float(grams_of_seeds(missing, line.basis["tsw_g"], line.basis["purity"]))
        grams = _round_up(exact * 1000) / 1000
        share = grams / need.grams if need.grams else 1.0
        seeds = math.ceil(missing * grams / exact) if exact else missing
    alone = CollectionNeed(
        id=need.id, plan_id=need.plan_id, species_id=need.species_id, species_name=need.species_name,
        region_code=need.region_code, basin=need.basin, source=need.source, purpose=need.purpose,
        opens_on=need.opens_on, closes_on=need.closes_on, seeds=seeds, grams=grams,
        fruit_kg=None if need.fruit_kg is None else need.fruit_kg * share,
        mothers=max(int(whole(need.mothers * share)), LEAST_MOTHERS), plants=part.plants,
    )  # fmt: skip
    return replace(sheet, need=alone)


def _to_round_trays(line: PlanLine) -> int:
    """Seeds for a tray more where seed is sown beside other seed: each fills whole cells of its own."""
    cells: int = line.cells_sown - line.basis["cells_from_lots"]
    seeds, cells = (line.seeds_missing, cells) if cells > 0 else (line.seeds, line.cells_sown)
    if cells <= 0:
        return 0
    per_tray: int = line.basis["cells_per_tray"]
    return math.ceil(seeds / cells * max(per_tray, 1))


def _round_up(amount: float) -> int:
    """To two figures, so that what is said is enough."""
    if amount < 1:
        return 1
    step: int = 10 ** max(math.floor(math.log10(amount)) - 1, 0)
    return int(math.ceil(amount / step - 1e-9) * step)

"""What seed that nobody has collected yet would do for a line: the plan of its species, with it and without."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.models import PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.plan import PlanResult, make_plan
from nursery.services.planning.filling import Fill, read_fills
from nursery.services.planning.gather import Gathered, gather
from nursery.services.planning.plans import get_line, get_plan
from nursery.services.planning.trial_lots import TrialLot, trial_ids, with_pins

#: Part of a line's need that a trial gives at least. Own convention, no source.
LEAST_OF_TRIAL = 0.05


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a reckoning gives one target; ``draws`` as code and seeds, an empty code for the trial's own seed."""

    status: LineStatus
    seeds_missing: int
    shortfall: int
    expected: float
    p10: int
    p90: int
    probability: float
    draws: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """Another target of the species whose seed changes with the trial."""

    site_name: str
    season: int
    before: Outcome
    after: Outcome


@dataclass(frozen=True, slots=True)
class Trial:
    """A line by today's records, without the trial's seed and with it."""

    line: PlanLine
    fill: Fill
    before: Outcome
    after: Outcome
    moved: Sequence[Moved]

    @property
    def fills(self) -> bool:
        """Whether the line lacks nothing with it."""
        return self.after.status == LineStatus.ON_TRACK

    @property
    def taken(self) -> int:
        """Seeds (or cuttings) of the trial that the line draws."""
        return sum(seeds for code, seeds in self.after.draws if not code)


def try_fill(session: Session, line_id: int, *, today: dt.date) -> Trial:
    """Reckon the line's species with the seed that would fill the line, set aside for it; nothing is written.

    Raises
    ------
    NotFound
        Where there is no such line.
    Conflict
        Where no seed is known that could be tried, or the line's target is not open any more.
    """
    line = get_line(session, line_id)
    fill = read_fills(session, get_plan(session, line.plan_id), [line], today=today).get(line.id)
    if fill is None or not fill.can_be_tried:
        raise Conflict(_("No seed is known that could be collected for this line, so there is nothing to try."))
    without = gather(session, today=today, species_id=line.species_id)
    targets = without.inputs.lines["target_id"].tolist()
    if line.target_id not in targets:
        raise Conflict(_("The target of this line is not open any more. Make a new plan."))
    own, lots = targets.index(line.target_id), _lots(fill)
    reckoned = make_plan(without.inputs)
    added = gather(session, today=today, species_id=line.species_id, trial=lots)
    pins = _pins(without, reckoned, own, lots)
    before = _outcomes(without, reckoned)
    after = _outcomes(added, make_plan(with_pins(added.inputs, own, pins)))
    names = without.lines[["site_name", "season"]].to_dict("records")
    moved = [
        Moved(name["site_name"], name["season"], was, is_now)
        for at, (name, was, is_now) in enumerate(zip(names, before, after, strict=True))
        if at != own and (was.draws != is_now.draws or was.status != is_now.status)
    ]
    return Trial(line, fill, before[own], after[own], moved)


def _lots(fill: Fill) -> list[TrialLot]:
    """One lot of each population, whatever permits it comes under."""
    found: dict[int, TrialLot] = {}
    for part in fill.parts:
        one = found.get(part.population_id)
        found[part.population_id] = TrialLot(
            part.population_id, part.amount + (one.amount if one else 0), fill.until,
            max(part.mothers, one.mothers if one else 0), part.is_cuttings,
        )  # fmt: skip
    return list(found.values())


def _pins(gathered: Gathered, result: PlanResult, line: int, lots: Sequence[TrialLot]) -> dict[int, float]:
    """Ready plants of each lot for one line: it keeps what it has, and the trial's seed gives the rest.

    Otherwise others would take what the line can spare. The trial always gives a little, so that the line may draw
    on it for what whole cells and trays ask.
    """
    offers, lot_ids = result.sharing.offers, gathered.inputs.lots["lot_id"].to_numpy()
    need, plants = float(result.sharing.need[line]), result.sharing.plants
    at = np.flatnonzero((offers["line"] == line).to_numpy() & (plants >= 1))
    own = plants[at] / max(float(plants[at].sum()), 1.0)
    rest = max(need - float(plants[at].sum()), LEAST_OF_TRIAL * need)
    amounts = np.array([lot.amount for lot in lots], np.float64)
    return {
        **dict(zip(lot_ids[offers["lot"].to_numpy()[at]].tolist(), (own * (need - rest)).tolist(), strict=True)),
        **dict(zip(trial_ids(lots), (rest * amounts / amounts.sum()).tolist(), strict=True)),
    }


def _outcomes(gathered: Gathered, result: PlanResult) -> list[Outcome]:
    codes = gathered.lots["lot_code"].tolist()
    draws: list[list[tuple[str, int]]] = [[] for _line in range(len(result.lines))]
    for line, lot, seeds in zip(*(result.draws[name].tolist() for name in ("line", "lot", "seeds")), strict=True):
        draws[line].append((codes[lot], seeds))
    return [
        Outcome(
            LineStatus(row["status"]), row["seeds_missing"], row["shortfall"], row["expected"], row["p10"],
            row["p90"], row["probability"], tuple(sorted(drawn)),
        )
        for row, drawn in zip(result.lines.to_dict("records"), draws, strict=True)
    ]  # fmt: skip

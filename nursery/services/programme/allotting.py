"""Needs allotted to populations and permits, one after another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from nursery.planning.rounding import whole
from nursery.services.needs import Sheet
from nursery.services.programme.options import LEAST, Option, Permission
from nursery.services.programme.picks import NeedPlan, Pick
from nursery.services.programme.sharing import fewest, rank, share, share_mothers, to_find
from nursery.services.stands import Stand


@dataclass(slots=True)
class Draft:
    """What one population is asked for, and what permits give of it."""

    stand: Stand
    options: Sequence[Option]
    amount: float = 0.0
    mothers: int = 0
    parts: dict[int, tuple[Option, float]] = field(default_factory=dict)

    @property
    def uncovered(self) -> float:
        """What no permit covers of it."""
        rest = self.amount - sum(part for _option, part in self.parts.values())
        return rest if rest > LEAST else 0.0


class Allotting:
    """Allots needs so that none takes what an earlier one has of a permit's allowance or a stand's fifth."""

    def __init__(self, permission: Permission) -> None:
        self.permission = permission
        #: What stands were asked to give so far.
        self.picks: list[Pick] = []

    def need(self, sheet: Sheet) -> NeedPlan:
        """The fewest populations that give the amount and the mothers, and what permits do not cover moved on.

        Those under a permit come first, then those that were counted, those at home where they grow, the nearest.
        The amount is shared by their fruiting plants, so that all plants give alike. What exceeds a permit goes,
        in the same order, to populations and permits that can still give it.
        """
        able = [stand for stand in (self._still(sheet, stand) for stand in sheet.stands.here) if stand.most != 0]
        ranked = [Draft(stand, self.permission.options(sheet, stand)) for stand in able]
        ranked.sort(key=lambda draft: rank(draft.stand, is_covered=bool(draft.options)))
        chosen = fewest([draft.stand for draft in ranked], sheet)
        by_place = {draft.stand.population_id: draft for draft in ranked}
        for stand, amount, mothers in share(chosen, sheet):
            draft = by_place[stand.population_id]
            draft.mothers = mothers
            self._ask(sheet, draft, amount)
        if self._move_on(sheet, ranked):
            share_mothers([draft for draft in ranked if draft.amount > 0], sheet.need.mothers)
        plan = NeedPlan(sheet)
        for draft in ranked:
            plan.picks += self._picks(sheet, draft)
        self.picks += plan.picks
        lacking = sheet.wanted - sum(pick.amount for pick in plan.picks)
        plan.lacking = lacking if lacking > 1e-9 * sheet.wanted else 0.0
        plan.to_find = to_find(plan)
        return plan

    def _still(self, sheet: Sheet, stand: Stand) -> Stand:
        """The stand with what other needs of the same season leave of its fifth."""
        if stand.most is None:
            return stand
        given = sum(
            pick.amount
            for pick in self.picks
            if pick.stand.population_id == stand.population_id
            and pick.sheet.is_cuttings == sheet.is_cuttings
            and pick.sheet.need.opens_on <= sheet.need.closes_on
            and sheet.need.opens_on <= pick.sheet.need.closes_on
        )
        left = stand.most - given
        return replace(stand, most=left if left > 1e-9 * stand.most else 0)

    def _ask(self, sheet: Sheet, draft: Draft, amount: float) -> float:
        """Ask a population for more; what permits cover of it."""
        draft.amount += amount
        covered = 0.0
        for option in draft.options:
            if amount - covered <= LEAST:
                break
            given = self.permission.give(sheet, draft.stand, option, amount - covered)
            if given > 0:
                before = draft.parts.get(option.permit.id, (option, 0.0))[1]
                draft.parts[option.permit.id] = option, before + given
                covered += given
        return covered

    def _move_on(self, sheet: Sheet, ranked: Sequence[Draft]) -> float:
        """Move what no permit covers to where one does; how much was moved."""
        plants = sum(draft.stand.fruiting_plants or 0 for draft in ranked if draft.amount > 0 or draft.options)
        cuts = [
            (draft, draft.uncovered)
            for draft in reversed(ranked)
            # One that would give nothing any more is kept where its mothers are needed.
            if draft.uncovered
            and (draft.parts or plants - (draft.stand.fruiting_plants or 0) >= sheet.need.mothers)
        ]
        short = sum(uncovered for _draft, uncovered in cuts)
        moved = 0.0
        for draft in ranked:
            room = short - moved
            if draft.uncovered or not draft.options or room <= LEAST:
                continue  # it has no permit that is not spent, or nothing is left to move
            if draft.stand.most is not None:
                room = min(room, draft.stand.most - draft.amount)
            if sheet.spread.cap is not None:
                room = min(room, sheet.spread.cap * sheet.wanted - draft.amount)
            if sheet.is_cuttings:
                room = int(room)
            if room > LEAST:
                before = draft.amount
                covered = self._ask(sheet, draft, room)
                draft.amount = before + covered
                moved += covered
        left = moved
        for draft, uncovered in cuts:
            cut = min(left, uncovered)
            draft.amount -= cut
            left -= cut
            if draft.amount <= LEAST:
                draft.amount, draft.mothers = 0.0, 0
        return moved

    def _picks(self, sheet: Sheet, draft: Draft) -> list[Pick]:
        """One pick for each permit, for a lot names one; the last one bears what no permit covers."""
        if draft.amount <= 0 and not draft.mothers:
            return []
        place = self.permission.places[draft.stand.population_id]
        uncovered = draft.uncovered if draft.parts else draft.amount
        parts: list[tuple[Option | None, float]] = [*draft.parts.values()]
        if not parts:  # it is visited for its mothers, or without a permit
            parts = [(draft.options[0] if draft.options and draft.amount <= LEAST else None, 0.0)]
        found = []
        for number, (option, covered) in enumerate(parts, 1):
            rest = uncovered if number == len(parts) else 0.0
            amount = draft.amount if len(parts) == 1 else covered + rest
            first, last = (option.first_day, option.last_day) if option else self.permission.season(sheet)
            reason = ""
            if rest or option is None:
                reason = self.permission.reason(sheet, draft.stand, rest, is_part=option is not None)
            part = amount / draft.amount if draft.amount else 1.0
            found.append(
                Pick(
                    sheet, draft.stand, place.region_code, place.basin, amount,
                    int(whole(draft.mothers * part)), first, last, option.permit if option else None, rest, reason,
                    option.not_before if option else None, option.is_told if option else False,
                )
            )  # fmt: skip
        return found

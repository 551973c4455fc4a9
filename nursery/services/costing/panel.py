"""Costs of one batch as its page shows them, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.models import Batch
from nursery.planning.work.costs import PARTS
from nursery.services.costing.costs import CostRow, batch_costs
from nursery.services.costing.explaining import PART_LABELS, each, money, parts_in_words
from nursery.services.costing.prices import Prices


@dataclass(frozen=True, slots=True)
class BatchCosts:
    """What a batch was planned to cost and has cost so far."""

    row: CostRow
    prices: Prices

    @property
    def is_known(self) -> bool:
        """Whether there is anything to tell."""
        return bool(self.row.planned.total or self.row.actual.total)

    @property
    def parts(self) -> Sequence[tuple[str, str, str]]:
        """Label, planned and spent of every part that costs something."""
        planned, spent = self.row.planned, self.row.actual
        return [
            (str(PART_LABELS[part]), money(planned.part(part), self.prices), money(spent.part(part), self.prices))
            for part in PARTS
            if planned.part(part) or spent.part(part)
        ]

    @property
    def spent(self) -> str:
        """All that was spent so far."""
        return money(self.row.actual.total, self.prices)

    @property
    def planned(self) -> str:
        """All that was planned."""
        return money(self.row.planned.total, self.prices)

    @property
    def told(self) -> Sequence[tuple[str, str, str]]:
        """Where each part of what was spent comes from."""
        return parts_in_words(self.row.actual, self.prices)

    @property
    def a_plant(self) -> str:
        """Of a plant alive or gone out, so far; empty while there is none."""
        return each(self.row.actual.per(self.row.actual.plants.grown), self.prices)

    def of(self, plants: float) -> str:
        """What was spent so far, for each of so many plants."""
        return each(self.row.actual.per(plants), self.prices)

    @property
    def a_plant_planned(self) -> str:
        """Of a plant ready, as planned; empty where it was not in the plan."""
        return each(self.row.planned.per(self.row.planned.plants.grown), self.prices)


def read_batch_costs(session: Session, batch: Batch) -> BatchCosts:
    """Costs of a batch; what all share is reckoned with all others."""
    return BatchCosts(*batch_costs(session, batch))

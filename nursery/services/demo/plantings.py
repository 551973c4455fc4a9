"""What the demo's crews planted: seed of last year's bags, mixed, sown, and gone into the ground."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.models import Lot, Site
from nursery.models.movements import Measure, MovementKind
from nursery.services.demo.field import bags_of
from nursery.services.demo.tables import rows
from nursery.services.ledger import mix_lots, take_from_lot
from nursery.services.plantings import create_planting

#: Days from collecting to mixing, and from there to sowing; after cleaning and the germination test.
_MIX_AFTER, _SOW_AFTER = 60, 90
#: Planting days are in the second week of November.
_MONTH, _DAY = 11, 12


def write_plantings(
    session: Session, actor: str, lots: Sequence[Lot], sites: Mapping[str, Site], today: dt.date
) -> None:
    """Plant what the table says, each from a mixture of the last but one lot of some populations."""
    for row in rows("plantings"):
        chosen = [_last_but_one(lots, code) for code in row["populations"].split()]
        mixed_on = max(lot.collected_on for lot in chosen) + dt.timedelta(days=_MIX_AFTER)
        sown_on = mixed_on + dt.timedelta(days=_SOW_AFTER)
        session.add_all(bag for lot in chosen for bag in bags_of(lot, "even"))
        session.flush()
        amounts = [(lot, round((lot.amount_mg or 0) * float(row["share"]))) for lot in chosen]
        mixed = mix_lots(
            session, actor, amounts=amounts, reason="One sowing for the whole valley", happened_on=mixed_on,
            today=today,
        )  # fmt: skip
        take_from_lot(
            session, actor, lot=mixed, kind=MovementKind.WITHDRAWN, measure=Measure.SEED,
            amount=mixed.amount_mg or 0, reason="Sown", happened_on=sown_on, today=today,
        )  # fmt: skip
        values = {
            "site_id": sites[row["site"]].id, "lot_id": mixed.id, "planted_on": _planted_on(sown_on, today),
            "plants": int(row["plants"]), "notes": row["notes"],
        }  # fmt: skip
        create_planting(session, actor, values=values, today=today)


def _last_but_one(lots: Sequence[Lot], population: str) -> Lot:
    own = sorted((lot for lot in lots if lot.population.code == population), key=lambda lot: lot.collected_on)
    return own[-2]


def _planted_on(sown_on: dt.date, today: dt.date) -> dt.date:
    """The last planting day that has come and lies after sowing; else lately."""
    day = dt.date(today.year, _MONTH, _DAY)
    day = day if day <= today else day.replace(year=day.year - 1)
    return day if day > sown_on else today - dt.timedelta(days=4)

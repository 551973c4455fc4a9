"""The demo's hands, benches, materials and bills."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Bench, Container, Expense, Nursery, Person, Species, Supply, SupplyMovement
from nursery.models.supplies import SupplyKind, SupplyMovementKind, SupplyUnit
from nursery.services.demo.tables import number, rows, whole

#: Days back at which the stock of materials was counted.
_COUNTED = 12


def people() -> list[Person]:
    """Who works in the demo's nurseries."""
    return [
        Person(
            name=row["name"], is_volunteer=row["volunteer"] == "yes", hours_per_week=float(row["hours_per_week"]),
            wage_per_hour=number(row["wage"]), notes=row["notes"],
        )
        for row in rows("people")
    ]  # fmt: skip


def write_equipment(session: Session, actor: str, today: dt.date) -> None:
    """Benches and materials; nurseries and containers have their ids."""
    nurseries = {nursery.name: nursery for nursery in session.scalars(select(Nursery))}
    containers = {(one.nursery.name, one.name): one for one in session.scalars(select(Container))}
    session.add_all(_benches(nurseries))
    session.add_all(_supplies(actor, containers, today))
    session.flush()


def benches_by_nursery(session: Session) -> dict[str, list[Bench]]:
    """Benches of each nursery by its name, in the order of the table."""
    found: dict[str, list[Bench]] = {}
    for bench in session.scalars(select(Bench).order_by(Bench.id)):
        found.setdefault(bench.nursery.name, []).append(bench)
    return found


def _benches(nurseries: Mapping[str, Nursery]) -> list[Bench]:
    """Benches of each nursery."""
    return [
        Bench(nursery=nurseries[row["nursery"]], name=row["name"], area_m2=float(row["area_m2"]))
        for row in rows("benches")
    ]


def _supplies(
    actor: str, containers: Mapping[tuple[str, str], Container], today: dt.date
) -> Iterator[Supply | SupplyMovement]:
    """Materials, each with one count of its stock."""
    for row in rows("supplies"):
        nursery, _bar, container = row["container"].partition("|")
        supply = Supply(
            name=row["name"], kind=SupplyKind(row["kind"]), unit=SupplyUnit(row["unit"]),
            container=containers[nursery, container] if container else None,
            pack=float(row["pack"]), price_per_pack=number(row["price"]), lead_days=whole(row["lead_days"]),
            safety_stock=float(row["safety"]), use_per_1000_plants=number(row["use_per_1000"]),
            supplier=row["supplier"],
        )  # fmt: skip
        yield supply
        yield SupplyMovement(
            supply=supply, kind=SupplyMovementKind.COUNTED, change=float(row["stock"]), person=actor,
            happened_on=today - dt.timedelta(days=_COUNTED), reason="Counted in the shed (example)",
        )  # fmt: skip


def expenses(species: Mapping[str, Species], today: dt.date) -> list[Expense]:
    """Bills of the year."""
    return [
        Expense(
            spent_on=today - dt.timedelta(days=int(row["ago"])), what=row["what"], amount=float(row["amount"]),
            species=species[row["species"]] if row["species"] else None, funder=row["funder"],
        )
        for row in rows("expenses")
    ]  # fmt: skip

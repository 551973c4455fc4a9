"""Whatever is done in whatever order: no balance breaks, nothing is lost, no parent's share goes missing."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Lot, Population, Species
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.models.places import IndigenousStatus
from nursery.services import ledger
from nursery.services.ledger.moving import BALANCE, held, seed_measure
from nursery.services.ledger.taking import TAKING

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)
WHEN = {"happened_on": TODAY, "today": TODAY}

amounts = st.one_of(st.integers(1, 150), st.integers(0, 900))
picks = st.integers(0, 20)
#: Mostly lots that the table lets be mixed; any now and then.
mixable = st.lists(st.one_of(st.integers(0, 2), picks), min_size=2, max_size=3, unique=True)
actions = st.one_of(
    st.tuples(st.just("take"), picks, st.sampled_from(TAKING), amounts),
    st.tuples(st.just("extract"), st.sampled_from([0, 5, 6]), st.integers(100, 400), st.integers(1, 150)),
    st.tuples(st.just("clean"), picks, amounts, st.just(0)),
    st.tuples(st.just("recount"), picks, st.sampled_from(list(Measure)), amounts),
    st.tuples(st.just("split"), picks, amounts, st.booleans()),
    st.tuples(st.just("mix"), mixable, amounts, amounts),
    st.tuples(st.just("reverse"), picks, st.just(0), st.just(0)),
)


def begin(session: Session) -> None:
    """Four populations of which some may be mixed, and six lots with seed, fruit or pieces."""
    species = Species(key="quercus-suber", scientific_name="Quercus suber")
    statuses = (IndigenousStatus.INDIGENOUS, IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS,
                IndigenousStatus.UNKNOWN)  # fmt: skip
    stands = [
        Population(code=f"P-{n}", name=f"Azenha {n}", species=species, latitude=40.0, longitude=-7.0,
                   region_code="R1", indigenous_status=status)
        for n, status in enumerate(statuses)
    ]  # fmt: skip
    held = ((0, {"amount_mg": 500, "fruit_mg": 900}), (1, {"amount_mg": 800}), (2, {"amount_mg": 600}),
            (1, {"pieces": 500}), (2, {"pieces": 300}), (3, {"amount_mg": 400, "fruit_mg": 500}))  # fmt: skip
    lots = [
        Lot(code=f"L/{n}", species=species, population=stands[stand], collected_on=dt.date(2026, 10, 1 + n),
            ripening_year=2026, **values)
        for n, (stand, values) in enumerate(held)
    ]  # fmt: skip
    session.add_all(lots)
    session.flush()
    ledger.open_balances(session, ANA, lots)
    session.commit()


def act(session: Session, action: tuple[Any, ...]) -> None:
    name, first, second, third = action
    lots = session.scalars(select(Lot).order_by(Lot.id)).all()
    lot = lots[(first if isinstance(first, int) else first[0]) % len(lots)]
    if name == "take":
        ledger.take_from_lot(
            session, ANA, lot=lot, kind=second, measure=seed_measure(lot), amount=third, reason="why", **WHEN
        )
    elif name == "extract":
        ledger.extract_seed(session, ANA, lot=lot, fruit_mg=second, seed=third, **WHEN)
    elif name == "clean":
        ledger.clean_lot(session, ANA, lot=lot, left=second, **WHEN)
    elif name == "recount":
        ledger.recount_lot(session, ANA, lot=lot, measure=second, counted=third, reason="", **WHEN)
    elif name == "split":
        ledger.split_lot(
            session, ANA, lot=lot, amount=second, measure=Measure.FRUIT if third else seed_measure(lot), **WHEN
        )
    elif name == "mix":
        chosen = [lots[pick % len(lots)] for pick in first]
        ledger.mix_lots(
            session, ANA, amounts=[(one, amount) for one, amount in zip(chosen, (second, third, 5), strict=False)],
            **WHEN,
        )  # fmt: skip
    else:
        acts = session.scalars(select(Movement.act).distinct().order_by(Movement.act)).all()
        ledger.reverse_act(session, ANA, act=acts[first % len(acts)], reason="why", today=TODAY)


def check(session: Session, parents: dict[int, dict[int, float]]) -> dict[int, dict[int, float]]:
    """Everything that must always hold; the shares of each lot now."""
    assert ledger.wrong_balances(session) == []
    lots = session.scalars(select(Lot).order_by(Lot.id)).all()
    assert all(held(lot, measure) >= 0 for lot in lots for measure in BALANCE)
    within = Movement.kind.in_((MovementKind.SPLIT, MovementKind.MIXED))
    sums = select(func.sum(Movement.change)).where(within).group_by(Movement.act, Movement.measure)
    assert set(session.scalars(sums)) <= {0}  # what leaves one lot arrives in another
    found = {
        lot_id: {one.lot.id: one.share for one in origins}
        for lot_id, origins in ledger.lot_origins(session, lots).items()
    }
    for lot_id, shares in found.items():
        assert math.isclose(sum(shares.values()), 1.0, rel_tol=1e-9)
        assert shares == pytest.approx(parents.get(lot_id, shares))  # what was once known is never lost
    return found


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(actions, min_size=4, max_size=25))
def test_no_sequence_of_acts_breaks_a_balance_or_loses_a_parent(engine: Engine, sequence: list[Any]) -> None:
    with engine.connect() as connection, connection.begin() as outer:
        with Session(connection, join_transaction_mode="create_savepoint", expire_on_commit=False) as session:
            begin(session)
            known = check(session, {})
            for action in sequence:
                before = session.scalar(select(func.count(Movement.id)))
                try:
                    act(session, action)
                except (Invalid, Conflict):
                    assert session.scalar(select(func.count(Movement.id))) == before  # refused whole
                known = check(session, known)
        outer.rollback()

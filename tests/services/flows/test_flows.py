"""Whatever is split and mixed in whatever order: shares sum to one, and forward and back tell the same."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Bag, Lot, Planting, Population, Site, Species
from nursery.models.places import IndigenousStatus
from nursery.services import ledger
from nursery.services.flows import follow_lot, follow_stand, trace_site

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)
WHEN: dict[str, Any] = {"happened_on": TODAY, "today": TODAY}
picks = st.integers(0, 30)
amounts = st.integers(1, 300)
acts = st.one_of(
    st.tuples(st.just("split"), picks, amounts),
    st.tuples(st.just("mix"), st.lists(picks, min_size=2, max_size=3, unique=True), amounts),
)


def begin(session: Session) -> Site:
    """Three stands of one region; their four lots have bags, of which some are of the same mothers."""
    species = Species(key="quercus-suber", scientific_name="Quercus suber")
    stands = [
        Population(code=f"P-{n}", name=f"Azenha {n}", species=species, latitude=40.0, longitude=-7.0,
                   region_code="R1", indigenous_status=IndigenousStatus.INDIGENOUS)
        for n in range(3)
    ]  # fmt: skip
    lots = [
        Lot(code=f"L/{n}", species=species, population=stands[n % 3], collected_on=dt.date(2026, 10, 1),
            ripening_year=2026, amount_mg=2_000)
        for n in range(4)
    ]  # fmt: skip
    site = Site(
        code="S-1", name="Brejo", latitude=40.0, longitude=-7.0, window_opens="11-01", window_closes="02-28"
    )
    session.add_all([*lots, site])
    session.flush()
    session.add_all(
        Bag(lot_id=lot.id, tag=tag, weight_mg=1_000 + 700 * n + 300 * lot.id)
        for lot in lots
        for n, tag in enumerate(("a", "B", "c") if lot.id % 2 else ("A", "d"))
    )
    ledger.open_balances(session, ANA, lots)
    session.flush()
    return site


def do(session: Session, act: tuple[Any, ...]) -> None:
    lots = session.scalars(select(Lot).order_by(Lot.id)).all()
    if act[0] == "split":
        ledger.split_lot(session, ANA, lot=lots[act[1] % len(lots)], amount=act[2], **WHEN)
    else:
        chosen = list(dict.fromkeys(lots[pick % len(lots)] for pick in act[1]))
        ledger.mix_lots(session, ANA, amounts=[(lot, act[2] + n) for n, lot in enumerate(chosen)], **WHEN)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(acts, min_size=2, max_size=14), picks, picks)
def test_shares_sum_to_one_and_both_directions_agree(
    engine: Engine, sequence: list[Any], one: int, other: int
) -> None:
    with engine.connect() as connection, connection.begin() as outer:
        with Session(connection, join_transaction_mode="create_savepoint", expire_on_commit=False) as session:
            site = begin(session)
            for act in sequence:
                try:
                    do(session, act)
                except (Invalid, Conflict):
                    continue  # an act refused is no act
            lots = session.scalars(select(Lot).order_by(Lot.id)).all()
            planted = [lots[-1 - one % len(lots)], lots[-1 - other % len(lots)]]
            session.add_all(
                Planting(site_id=site.id, lot_id=lot.id, planted_on=TODAY, plants=30 + 40 * n)
                for n, lot in enumerate(planted)
            )
            session.flush()

            origins = trace_site(session, None, site.id).planted

            assert origins.plants == 100
            assert sum(part.share for part in origins.lots if part.collected) == pytest.approx(1.0)
            assert origins.known == pytest.approx(1.0)
            assert origins.species[0].effective == pytest.approx(1 / sum(m.share**2 for m in origins.mothers))
            expected = ledger.lot_origins(session, planted)
            for part in origins.lots:
                if part.collected:
                    plants = sum(
                        (30 + 40 * n) * origin.share
                        for n, lot in enumerate(planted)
                        for origin in expected[lot.id]
                        if origin.lot.id == part.lot.id
                    )
                    assert part.share * 100 == pytest.approx(plants)
                assert follow_lot(session, None, part.lot.id)[1].planted == pytest.approx(part.share * 100)
            for mother in origins.mothers:
                _stand, onward = follow_stand(session, None, mother.lot.population_id, mother.tag.swapcase())
                assert onward.planted == pytest.approx(mother.share * 100)
        outer.rollback()


def test_a_pooled_lot_leaves_the_effective_mothers_unknown(session: Session, maker: Any) -> None:
    lot, site = maker.lot(code="L/1"), maker.site()
    session.add(Planting(site_id=site.id, lot_id=lot.id, planted_on=TODAY, plants=10))
    session.flush()

    origins = trace_site(session, None, site.id).planted

    assert (origins.known, origins.mothers) == (0, [])
    assert (origins.species[0].effective, origins.species[0].pooled) == (None, ("L/1",))


def test_what_is_archived_is_not_traced(session: Session, maker: Any) -> None:
    lot, site = maker.lot(), maker.site()
    gone = Planting(
        site_id=site.id, lot_id=lot.id, planted_on=TODAY, plants=10, archived_at=dt.datetime.now(dt.UTC)
    )
    session.add(gone)
    session.flush()

    assert trace_site(session, None, site.id).planted.plants == 0
    assert follow_lot(session, None, lot.id)[1].planted == 0


def test_a_mother_that_no_bag_names_is_not_found(session: Session, maker: Any) -> None:
    with pytest.raises(NotFound, match="no bag “x”"):
        follow_stand(session, None, maker.population().id, "x")

"""Whatever is done in whatever order: plants in = alive + lost + dispatched, no plant loses its origin, and
nothing that is written late or taken back changes what a later count found."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models import Batch, Bench, Container, Count, Lot, Nursery, Placement, PlantMovement, Site, Species
from nursery.models.batches import PlantMovementKind
from nursery.models.places import IndigenousStatus, Population
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches, ledger
from nursery.services.batches.sums import PlantSums

ANA = "Ana Seabra"
TODAY = dt.date(2026, 11, 25)
SOWN = dt.date(2026, 11, 2)
WHEN = {"happened_on": TODAY, "today": TODAY}
#: Days before today on which things happen; some are written down late, after a count of a later day.
days = st.sampled_from([0, 0, 0, 1, 2, 9])

picks = st.integers(0, 12)
plants = st.one_of(st.integers(1, 60), st.integers(0, 500))
stages = st.sampled_from([Stage.EMERGED, Stage.EMERGED, Stage.GROWING, Stage.HARDENING, Stage.READY, Stage.SOWN])
#: Mostly batches whose lots may be mixed; any now and then.
mergeable = st.lists(st.one_of(st.integers(0, 2), picks), min_size=2, max_size=3, unique=True)
actions = st.one_of(
    st.tuples(st.just("count"), picks, stages, plants),
    st.tuples(st.just("sample"), picks, stages, st.lists(st.integers(0, 40), min_size=1, max_size=4)),
    st.tuples(st.just("withdraw"), picks, st.just(0), st.just(0)),
    st.tuples(st.just("lose"), picks, st.sampled_from(Cause), plants),
    st.tuples(st.just("move"), picks, st.integers(0, 2), st.integers(0, 12)),
    st.tuples(st.just("thin"), picks, st.just(0), plants),
    st.tuples(st.just("prick"), picks, st.one_of(st.none(), st.integers(0, 60)), plants),
    st.tuples(st.just("split"), picks, st.one_of(st.none(), st.integers(0, 12)), plants),
    st.tuples(st.just("merge"), mergeable, st.just(0), st.just(0)),
    st.tuples(st.just("dispatch"), picks, st.integers(0, 1), plants),
    st.tuples(st.just("return"), picks, st.integers(0, 1), plants),
    st.tuples(st.just("reverse"), picks, st.just(0), st.just(0)),
)


def begin(session: Session) -> None:
    """Five batches of four lots, of which some may be merged; one stands in flats; some are counted already."""
    species = Species(key="quercus-suber", scientific_name="Quercus suber")
    statuses = (IndigenousStatus.INDIGENOUS, IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS,
                IndigenousStatus.UNKNOWN)  # fmt: skip
    lots = [
        Lot(code=f"L/{n}", species=species, collected_on=dt.date(2026, 10, 1), ripening_year=2026, pieces=5_000,
            population=Population(code=f"P-{n}", name=f"Azenha {n}", species=species, latitude=40.0,
                                  longitude=-7.0, region_code="R1", indigenous_status=status))
        for n, status in enumerate(statuses)
    ]  # fmt: skip
    yard = Nursery(name="Yard", latitude=40.0, longitude=-7.0, bench_area_m2=100.0)
    session.add_all([*lots, yard])
    session.flush()
    ledger.open_balances(session, ANA, lots)
    tray = Container(nursery_id=yard.id, name="Tray", cells_per_tray=20, cell_volume_cm3=300.0)
    benches = [Bench(nursery_id=yard.id, name=f"Bench {n}", area_m2=10.0) for n in range(3)]
    sites = [Site(code=f"S-{n}", name=f"Bank {n}", latitude=40.0, longitude=-7.0) for n in range(2)]
    session.add_all([tray, *benches, *sites])
    session.flush()
    for n, lot in enumerate((lots[0], lots[1], lots[2], lots[3], lots[0])):
        batches.sow(
            session, ANA, lot=lot, seeds=200, trays=10, container_id=tray.id, protocol="acorns", sown_on=SOWN,
            method=Method.PRICKED_OUT if n == 4 else Method.DIRECT, today=TODAY, bench_id=benches[n % 3].id,
        )  # fmt: skip
    for batch in session.scalars(select(Batch).order_by(Batch.id).limit(3)):
        batches.record_count(
            session, ANA, batch=batch, stage=Stage.EMERGED, counted_on=SOWN + dt.timedelta(12), today=TODAY,
            plants=120,
        )  # fmt: skip
    session.commit()


def by_latest_count(session: Session, batch: Batch) -> int | None:
    """What its latest standing count found, and what came and left since; None where it was never counted."""
    counts = session.scalars(
        select(Count)
        .where(Count.batch_id == batch.id, Count.withdrawn_at.is_(None))
        .order_by(Count.counted_on, Count.id)
    ).all()
    if not counts:
        return None
    last = counts[-1]
    rows = session.scalars(select(PlantMovement).where(PlantMovement.batch_id == batch.id)).all()
    by_id = {row.id: row for row in rows}
    # What a count wrote is as old as the count, also where it was reckoned anew later.
    written = {one.act: one.at for one in session.scalars(select(Count).where(Count.act != ""))}
    found = last.plants
    for row in rows:
        meant = by_id[row.reverses_id] if row.reverses_id is not None else row
        at = written.get(meant.act, meant.at)
        if (meant.happened_on, at) > (last.counted_on, last.at) and meant.act != last.act:
            found += row.change
    return found


def move(session: Session, batch: Batch, bench: int, trays: int) -> None:
    benches = session.scalars(select(Bench.id).order_by(Bench.id)).all()
    there = batches.standing(session, batch)[:1]
    if there:
        batches.move_trays(
            session, ANA, batch=batch, from_bench_id=there[0].bench_id, to_bench_id=benches[bench], trays=trays,
            on=TODAY, today=TODAY,
        )  # fmt: skip
    else:
        batches.place(session, ANA, batch=batch, bench_id=benches[bench], trays=trays, from_on=TODAY, today=TODAY)


def act(session: Session, action: tuple[Any, ...], days_ago: int = 0) -> None:
    name, first, second, third = action
    day = TODAY - dt.timedelta(days_ago)
    when = {"happened_on": day, "today": TODAY}
    every = session.scalars(select(Batch).order_by(Batch.id)).all()
    batch = every[(first if isinstance(first, int) else first[0]) % len(every)]
    sites = session.scalars(select(Site.id).order_by(Site.id)).all()
    counts = session.scalars(select(Count).order_by(Count.id)).all()
    acts = session.scalars(select(PlantMovement.act).distinct().order_by(PlantMovement.act)).all()
    tray = session.scalars(select(Container.id)).one()
    counted = {"batch": batch, "stage": second, "counted_on": day, "today": TODAY}
    ways: dict[str, Callable[[], Any]] = {
        "count": lambda: batches.record_count(session, ANA, plants=third, **counted),
        "sample": lambda: batches.record_count(session, ANA, sample=third, **counted),
        "withdraw": lambda: batches.withdraw_count(
            session, ANA, count=counts[first % len(counts)], reason="slip", today=TODAY
        ),
        "lose": lambda: batches.lose(session, ANA, batch=batch, plants=third, cause=second, **when),
        "move": lambda: move(session, batch, second, third),
        "thin": lambda: batches.thin(session, ANA, batch=batch, left=third, **when),
        "prick": lambda: batches.prick_out(
            session, ANA, batch=batch, pricked=third, container_id=tray, surplus=second,
            rest_stays=bool(third % 2), **when,
        ),
        "split": lambda: batches.split(session, ANA, batch=batch, plants=third, trays=second, **when),
        "merge": lambda: batches.merge(session, ANA, batches=[every[n % len(every)] for n in first], **when),
        "dispatch": lambda: batches.dispatch(
            session, ANA, batch=batch, site_id=sites[second], plants=third, **when
        ),
        "return": lambda: batches.bring_back(
            session, ANA, batch=batch, site_id=sites[second], plants=third, **when
        ),
        "reverse": lambda: batches.reverse_act(
            session, ANA, act=acts[first % len(acts)], reason="why", today=TODAY
        ),
    }  # fmt: skip
    ways[name]()


Origins = dict[int, dict[int, float]]


def check(session: Session, known: Origins) -> Origins:
    """Everything that must always hold; the lots in each batch now."""
    session.expire_all()  # what the database holds, not what this session remembers
    assert batches.wrong_plant_balances(session) == []
    every = session.scalars(select(Batch).order_by(Batch.id)).all()
    sums = batches.plant_sums(session)
    for batch in every:
        own = sums.get(batch.id, PlantSums())
        assert own.came == batch.alive + own.lost + own.dispatched
        assert min(batch.alive, own.counted, own.lost, own.dispatched) >= 0
        assert batch.alive == (found if (found := by_latest_count(session, batch)) is not None else batch.alive)
        assert sum(batches.dispatched_to(session, batch).values()) == own.dispatched
        assert min(batches.dispatched_to(session, batch).values(), default=0) >= 0
        assert sum(one.trays for one in batches.standing(session, batch)) <= batch.trays
    counted = sum(own.counted for own in sums.values())
    assert counted == sum(batch.alive for batch in every) + sum(own.lost + own.dispatched for own in sums.values())
    within = PlantMovement.kind.in_((PlantMovementKind.SPLIT, PlantMovementKind.MERGED))
    by_act = select(func.sum(PlantMovement.change)).where(within).group_by(PlantMovement.act)
    assert set(session.scalars(by_act)) <= {0}  # what leaves one batch arrives in another
    # Seed sown is neither made nor lost by splitting and taking splits back.
    assert sum(batch.seeds for batch in every) == 1_000
    found = batches.batch_lots(session, [batch.id for batch in every])
    for batch_id, shares in found.items():
        assert sum(shares.values()) == pytest.approx(1.0)
        assert shares == pytest.approx(known.get(batch_id, shares))  # what was once known is never lost
    return found


@contextmanager
def begun(engine: Engine) -> Iterator[Session]:
    with engine.connect() as connection, connection.begin() as outer:
        with Session(connection, join_transaction_mode="create_savepoint", expire_on_commit=False) as session:
            begin(session)
            yield session
        outer.rollback()


def state(session: Session) -> tuple[Any, ...]:
    counted = [session.scalar(select(func.count(model.id))) for model in (PlantMovement, Count, Placement, Batch)]
    return (*counted, session.execute(select(Batch.id, Batch.alive, Batch.trays, Batch.seeds, Batch.stage)).all())


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(st.tuples(actions, days), min_size=5, max_size=25))
def test_no_sequence_of_acts_breaks_the_balance_or_loses_an_origin(engine: Engine, sequence: list[Any]) -> None:
    with begun(engine) as session:
        known = check(session, {})
        for action, days_ago in sequence:
            before = state(session)
            try:
                act(session, action, days_ago)
            except (Invalid, Conflict):
                session.expire_all()
                assert state(session) == before  # refused whole
            known = check(session, known)

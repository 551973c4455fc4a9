"""Catalogue, then what batches taught, then a person's own figure; without batches nothing changes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog
from nursery.models import SeedTest, Species
from nursery.models.movements import Measure, MovementKind
from nursery.models.seed_tests import TestKind
from nursery.models.types import utc_now
from nursery.services.catalogue import effective_entries
from nursery.services.evidence import record_evidence, withdraw_evidence
from nursery.services.learned.batches import Origin, read_batches
from nursery.services.learned.moved import rates_moved
from nursery.services.learned.rates import learned_rates, yield_weight
from nursery.services.ledger import move, new_act
from nursery.services.setup import set_up
from nursery.services.species import read_species, set_figure, take_back_figure

KEY = "quercus-suber"
ESTABLISHMENT = "protocols.fresh-direct.rates.establishment"
Seen = Callable[..., Any]


@pytest.fixture(autouse=True)
def _species(session: Session) -> None:
    set_up(session, "Ana")


@pytest.fixture
def seen(session: Session, today: dt.date) -> Seen:
    """Writes one batch down."""

    def write(successes: float, trials: float, rate: str = "establishment", **more: Any) -> Any:
        values = {"part": "seed", "rate": rate, "successes": successes, "trials": trials, "happened_on": today}
        return record_evidence(
            session, "Rui", species=more.pop("species", KEY), today=today,
            values={**values, "source": "tray count", **more},
        )  # fmt: skip

    return write


def entry_of(session: Session, **options: Any) -> SpeciesEntry:
    entries = {entry.key: entry for entry in effective_entries(session, **options).values()}
    return entries[KEY]


def test_without_batches_every_entry_is_the_catalogues_very_own(session: Session) -> None:
    catalog = load_catalog().species
    assert all(entry is catalog[entry.key] for entry in effective_entries(session).values())


def test_batches_move_the_rate_of_every_protocol_of_that_part(session: Session, seen: Seen) -> None:
    for _batch in range(6):
        seen(120, 240)
    entry, shipped = entry_of(session), load_catalog().species[KEY]
    for protocol in entry.protocols:
        rate, prior = protocol.rates["establishment"], shipped.protocol(protocol.key).rates["establishment"]
        assert (rate.basis, rate.sources) == ("learned", ())
        assert 0.5 < rate.mean < prior.mean
        assert rate.low is not None
        assert rate.high is not None
        assert rate.low < rate.mean < rate.high
        assert protocol.rates["hardening"] == shipped.protocol(protocol.key).rates["hardening"]
    assert entry.figure(f"{ESTABLISHMENT}.weight").basis == "learned"


def test_learned_rates_can_be_left_out(session: Session, seen: Seen) -> None:
    seen(120, 240)
    assert entry_of(session, learned=False) is load_catalog().species[KEY]


def test_other_species_stay_exactly_as_the_catalogue_has_them(session: Session, seen: Seen) -> None:
    seen(120, 240)
    catalog = load_catalog().species
    assert {entry.key for entry in effective_entries(session).values() if entry is not catalog[entry.key]} == {KEY}


def test_a_figure_set_by_hand_wins_and_taken_back_gives_way_to_the_learned_one(
    session: Session, seen: Seen
) -> None:
    for _batch in range(6):
        seen(120, 240)
    path = f"{ESTABLISHMENT}.mean"
    learned = entry_of(session).figure(path)
    set_figure(session, "Rui", key=KEY, figure=path, value=0.9, reason="new benches")
    own = entry_of(session)
    assert (own.figure(path).number, own.figure(path).basis) == (0.9, "own")
    # The weight is that of the catalogue again: what was learned speaks of another mean.
    assert own.figure(f"{ESTABLISHMENT}.weight") == load_catalog().species[KEY].figure(f"{ESTABLISHMENT}.weight")
    view = read_species(session, KEY)
    assert view.figures[path].fallback == learned
    take_back_figure(session, "Rui", key=KEY, figure=path)
    assert entry_of(session).figure(path) == learned


def test_a_withdrawn_batch_counts_no_longer(session: Session, seen: Seen) -> None:
    batch = seen(10, 240)
    withdraw_evidence(session, "Rui", species=KEY, evidence_id=batch.id, reason="counted the wrong bench")
    assert entry_of(session) is load_catalog().species[KEY]
    assert (batch.withdrawn_by, batch.withdrawn_reason) == ("Rui", "counted the wrong bench")


def _test(lot: Any, counts: list[int], day: dt.date, **more: Any) -> SeedTest:
    values: dict[str, Any] = {"is_accepted": True, **more}
    return SeedTest(
        lot_id=lot.id, kind=TestKind.GERMINATION, tested_on=day, person="Rui", verdict={},
        readings={"counts": counts, "seeds": 100}, result=sum(counts) / 100 / len(counts), **values,
    )  # fmt: skip


def test_accepted_germination_tests_are_batches_and_refused_or_withdrawn_ones_are_not(
    session: Session, maker: Any, today: dt.date
) -> None:
    lot = maker.lot(species=maker.species(KEY))
    gone = {"withdrawn_at": utc_now(), "withdrawn_by": "Rui", "withdrawn_reason": "wrong lot"}
    session.add_all([
        _test(lot, [60, 62, 58, 61], today),
        _test(lot, [10, 90, 40, 70], today, is_accepted=False),
        _test(lot, [1, 2, 1, 1], today, **gone),
    ])  # fmt: skip
    session.flush()
    (batch,) = read_batches(session)[lot.species_id]
    assert (batch.rate, batch.successes, batch.trials, batch.origin, batch.lot_id) == (
        "germination", 241, 400, Origin.TEST, lot.id,
    )  # fmt: skip
    assert entry_of(session).figure("protocols.fresh-direct.rates.germination.mean").basis == "learned"


def test_a_lots_own_test_is_shrunk_towards_the_species(session: Session, maker: Any, today: dt.date) -> None:
    lots = [maker.lot(species=maker.species(KEY)) for _ in range(5)]
    session.add_all([_test(lot, [80, 82, 79, 81], today - dt.timedelta(days=9)) for lot in lots[:4]])
    session.add(_test(lots[4], [20, 22], today))
    session.flush()
    batches = read_batches(session)[lots[0].species_id]
    counts = tuple((b.part, b.rate, b.successes, b.trials) for b in batches)
    germination = next(r for r in learned_rates(load_catalog().species[KEY], counts) if r.rate == "germination")
    own, weight = germination.shrunk[-1]
    assert 0.21 < own < 0.45
    assert weight > germination.weight


def test_weighed_extractions_teach_the_yield(session: Session, maker: Any, today: dt.date) -> None:
    lot = maker.lot(species=maker.species(KEY))
    prior = load_catalog().species[KEY].seed.extraction_yield
    for _batch in range(5):
        act = new_act()
        for measure, change in ((Measure.FRUIT, 1_000_000), (Measure.FRUIT, -1_000_000), (Measure.SEED, 500_000)):
            kind = MovementKind.COLLECTED if change == 1_000_000 else MovementKind.EXTRACTED
            move(
                session, "Rui", lot=lot, kind=kind, measure=measure, change=change, reason="", happened_on=today,
                act=new_act() if kind is MovementKind.COLLECTED else act,
            )  # fmt: skip
    (rate,) = learned_rates(load_catalog().species[KEY], (("seed", "extraction_yield", 500.0, 1000.0),) * 5)
    figure = entry_of(session).figure("seed.extraction_yield")
    assert (figure.number, figure.basis) == (rate.mean, "learned")
    assert 0.5 < figure.number < prior
    # Each act counts as ten times the trials of the prior, whatever was weighed: own convention.
    assert rate.trials == pytest.approx(5 * 10 * yield_weight(prior), abs=1)


def test_a_learned_loss_stays_within_what_a_loss_may_be(session: Session, seen: Seen) -> None:
    for _batch in range(40):
        seen(5000, 5000, rate="cull")
    assert entry_of(session).default_protocol.rates["cull"].mean <= 0.99


def test_the_rates_that_moved_most_come_first(session: Session, seen: Seen) -> None:
    for _batch in range(6):
        seen(60, 240)
        seen(200, 240, species="arbutus-unedo")
    moved = rates_moved(session)
    assert [one.key for one in moved] == [KEY, "arbutus-unedo"]
    assert moved[0].rate.shift < 0


def test_the_number_of_queries_is_fixed(
    session: Session,
    engine: Engine,
    seen: Seen,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:
    session.flush()
    for wanted in (None, [session.query(Species).first().id]):  # type: ignore[union-attr]
        with count_queries(engine) as before:
            effective_entries(session, wanted)
        for key in (KEY, "arbutus-unedo"):
            seen(20, 30, species=key)
        with count_queries(engine) as after:
            effective_entries(session, wanted)
        assert (len(before), len(after)) == (4, 4)

"""Sowing: seed and batch in one act, or neither."""

from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import select

from nursery.errors import Invalid
from nursery.models import Batch, Movement
from nursery.models.lots import Material
from nursery.models.movements import MovementKind
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services import batches, ledger
from nursery.services.batches.sowing import half_empty
from tests.services.batches.conftest import ANA, SOWN, TODAY, Floor


def test_a_sowing_withdraws_its_seed_in_the_same_act(floor: Floor) -> None:
    batch = floor.sow(bench_id=floor.benches[0].id)

    taken = floor.session.scalars(select(Movement).where(Movement.act == batch.seed_act)).one()
    assert (taken.kind, taken.change, taken.happened_on) == (MovementKind.WITHDRAWN, -400, SOWN)
    assert (batch.code, batch.stage, batch.alive, batch.seeds_per_cell) == ("B26-001", Stage.SOWN, 0, 1)
    assert [(one.bench.name, one.trays) for one in batches.standing(floor.session, batch)] == [("North", 10)]
    assert batch.nursery_id == floor.container.nursery_id


def test_the_viability_is_that_of_the_day_of_sowing(floor: Floor) -> None:
    later = floor.sow(sown_on=TODAY)
    early = floor.sow()

    assert early.viability is not None
    assert later.viability is not None
    assert 0 < later.viability < early.viability <= 0.8


def test_grams_follow_from_the_lots_own_figures(floor: Floor) -> None:
    lot = floor.maker.lot(amount_mg=2_000_000, tsw_g=3_000.0, purity=0.9, collected_on=dt.date(2026, 8, 20))
    floor.sow(lot=lot, seeds=120, trays=3)
    # 120 seeds of 3 g are 360 g of seed, in 400 g of lot.
    assert lot.amount_mg == 2_000_000 - 400_000

    floor.sow(lot=lot, seeds=120, trays=3, milligrams=450_000)
    assert lot.amount_mg == 1_150_000


def test_too_little_seed_is_refused_and_nothing_is_sown(floor: Floor) -> None:
    with pytest.raises(Invalid) as refused:
        floor.sow(seeds=5001)

    assert refused.value.errors == {
        "seeds": "L/A holds 5,000 pieces; 5,001 pieces cannot leave it. Give less, or recount the lot first."
    }
    assert floor.session.scalars(select(Batch)).all() == []


def test_what_cannot_be_sown_is_told_field_by_field(floor: Floor) -> None:
    cuttings = floor.maker.lot(code="L/C", material=Material.CUTTINGS, pieces=90)
    other = floor.maker.target(species=floor.maker.species("pistacia-lentiscus"))
    for values, field in (
        ({"lot": cuttings, "seeds": 40}, "method"),
        ({"container_id": None}, "container_id"),
        ({"trays": 0}, "trays"),
        ({"seeds": 0}, "seeds"),
        ({"sown_on": TODAY + dt.timedelta(1)}, "sown_on"),
        ({"sown_on": dt.date(2026, 8, 19)}, "sown_on"),
        ({"target_id": other.id}, "target_id"),
        ({"bench_id": floor.maker.bench().id}, "bench_id"),
        ({"seeds_per_cell": 101}, "seeds_per_cell"),
        ({"ready_on": SOWN - dt.timedelta(1)}, "ready_on"),
    ):
        with pytest.raises(Invalid) as refused:
            floor.sow(**values)
        assert list(refused.value.errors) == [field]
    assert floor.lot.pieces == 5000


def test_flats_have_no_cells_before_pricking_out(floor: Floor) -> None:
    batch = floor.sow(method=Method.PRICKED_OUT)

    assert (batch.container_id, batch.cells_per_tray, batch.trays) == (None, None, 10)


def test_codes_run_on_through_the_year(floor: Floor) -> None:
    codes = [floor.sow(seeds=40, trays=1, code=code).code for code in ("", "B26-009", "", "own-7")]

    assert codes == ["B26-001", "B26-009", "B26-010", "OWN-7"]


def test_a_sowing_taken_back_gives_the_seed_back(floor: Floor) -> None:
    batch = floor.sow(bench_id=floor.benches[0].id)
    batches.unsow(floor.session, ANA, batch=batch, reason="wrong lot", today=TODAY)

    assert floor.lot.pieces == 5000
    assert batch.archived_at is not None
    assert batches.standing(floor.session, batch) == []
    assert ledger.wrong_balances(floor.session) == []


def test_a_sowing_that_was_counted_is_not_taken_back(floor: Floor) -> None:
    batch = floor.counted()

    with pytest.raises(Invalid, match="Write its plants off instead"):
        batches.unsow(floor.session, ANA, batch=batch, reason="wrong lot", today=TODAY)
    assert floor.lot.pieces == 4600


def test_more_seeds_than_the_cells_hold_are_refused_with_the_trays_they_need(floor: Floor) -> None:
    with pytest.raises(Invalid) as refused:
        floor.sow(seeds=801, seeds_per_cell=2)
    assert refused.value.errors == {
        "trays": "801 seeds at 2 in each cell need 11 trays of 40 cells; 10 trays have room for 800. Correct the"
        " seeds or the trays, or leave the seeds in each cell open where they differ."
    }
    with pytest.raises(Invalid, match="would be more than 100 in each cell"):
        floor.sow(seeds=4001, trays=1)
    assert floor.sow(seeds=800, seeds_per_cell=2).seeds_per_cell == 2
    assert floor.sow(seeds=1200, trays=1, method=Method.PRICKED_OUT, seeds_per_cell=1).trays == 1


def test_whole_trays_left_empty_are_told(floor: Floor) -> None:
    assert half_empty(floor.sow(seeds=361, seeds_per_cell=1)) == ""  # the last tray is begun
    assert half_empty(floor.sow(seeds=361)) == ""
    assert half_empty(floor.sow(seeds=120, method=Method.PRICKED_OUT)) == ""
    assert half_empty(floor.sow(seeds=120, seeds_per_cell=2)) == (
        "120 seeds at 2 in each cell fill 2 trays of 40 cells, but 10 trays were written down. If a number is"
        " wrong, take the sowing back and write it down again."
    )

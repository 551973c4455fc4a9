"""Seed tests: published examples are judged as published, refusals rule nothing, a wrong test is taken back."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.models.movements import Movement
from nursery.models.seed_tests import TestKind
from nursery.services.seed_tests import (
    list_tests,
    record_test,
    refused_last,
    result_text,
    rulings,
    verdict_text,
    withdraw_test,
)

WHO = "Ana Seabra"
DAY = dt.date(2026, 11, 20)
#: AOSA Rules, Appendix 4 tutorial, FRSA 2001: 8 × 100 seeds of Dimorphotheca sinuata, g.
DIMORPHOTHECA = [0.2224, 0.2134, 0.2130, 0.2116, 0.2145, 0.2071, 0.2116, 0.2125]
SOUND, APART = [91, 95, 88, 90], [92, 71, 88, 64]


@pytest.fixture
def lot(maker: Any) -> Lot:
    made: Lot = maker.lot(collected_on=dt.date(2026, 6, 1), germination=0.5, tested_on=dt.date(2026, 7, 1))
    return made


@pytest.fixture
def write(session: Session, lot: Lot, today: dt.date) -> Any:
    def writing(kind: TestKind, readings: dict[str, Any], day: dt.date = DAY, **more: Any) -> SeedTest:
        return record_test(session, WHO, lot=lot, kind=kind, tested_on=day, readings=readings, today=today, **more)

    return writing


def counts(*found: int, seeds: int = 100) -> dict[str, Any]:
    return {"counts": list(found), "seeds": seeds}


def test_an_accepted_germination_test_rules_the_lot_and_says_why(write: Any, lot: Lot) -> None:
    test = write(TestKind.GERMINATION, counts(*SOUND), days=28, regime="20/10 °C, 12 h light")

    # Mean 91: 11 points allowed (7 CFR § 201.55(a), four replicates of 100).
    assert (test.is_accepted, test.result, test.verdict["found"], test.verdict["allowed"]) == (True, 0.91, 7, 11)
    assert verdict_text(test) == "Replicates differ by 7 points; up to 11 are allowed."
    assert (lot.germination, lot.tested_on) == (0.91, DAY)


def test_a_refused_test_is_kept_and_rules_nothing(write: Any, lot: Lot) -> None:
    test = write(TestKind.GERMINATION, counts(*APART))

    # Mean 78.75, row 79: 16 points allowed (7 CFR § 201.55(a)); the range is 28.
    assert (test.is_accepted, test.verdict["found"], test.verdict["allowed"]) == (False, 28, 16)
    assert verdict_text(test) == (
        "Refused: replicates differ by 28 points, and only 16 are allowed. Something other than chance parted"
        " them. Repeat the test with a new sample."
    )
    assert (lot.germination, lot.tested_on) == (0.5, dt.date(2026, 7, 1))


@pytest.mark.parametrize(
    ("found", "accepted"),
    # Means 95, 90 and 87, ranges at and one above what 7 CFR § 201.55(a) allows: 9, 12 and 13 points.
    [
        ((100, 91, 95, 94), True),
        ((100, 90, 95, 95), False),
        ((96, 84, 90, 90), True),
        ((96, 83, 91, 90), False),
        ((94, 81, 87, 86), True),
        ((94, 80, 87, 87), False),
    ],
)
def test_the_published_tolerances_decide(write: Any, found: tuple[int, ...], accepted: bool) -> None:
    assert write(TestKind.GERMINATION, counts(*found)).is_accepted is accepted


def test_the_latest_accepted_test_rules_whatever_order_they_are_written_in(write: Any, lot: Lot) -> None:
    write(TestKind.GERMINATION, counts(80, 82, 84, 78), dt.date(2026, 11, 1))
    write(TestKind.GERMINATION, counts(90, 92, 94, 88), dt.date(2026, 10, 1))

    assert (lot.germination, lot.tested_on) == (0.81, dt.date(2026, 11, 1))


def test_between_germination_and_tetrazolium_the_later_rules(write: Any, lot: Lot) -> None:
    write(TestKind.GERMINATION, counts(80, 82, 84, 78), dt.date(2026, 10, 1))
    write(TestKind.TETRAZOLIUM, counts(90, 88), dt.date(2026, 10, 1))
    assert lot.germination == 0.81
    write(TestKind.TETRAZOLIUM, counts(90, 88), dt.date(2026, 10, 2))

    assert (lot.germination, lot.tested_on) == (0.89, dt.date(2026, 10, 2))


def test_a_cut_test_rules_only_where_nothing_better_was_done(write: Any, lot: Lot) -> None:
    write(TestKind.CUT, counts(45, seeds=50), dt.date(2026, 10, 5))
    assert lot.germination == 0.9
    write(TestKind.GERMINATION, counts(80, 82, 84, 78), dt.date(2026, 9, 1))

    assert (lot.germination, lot.tested_on) == (0.81, dt.date(2026, 9, 1))


def test_a_withdrawn_test_stays_to_be_seen_and_what_ruled_before_rules_again(
    session: Session, write: Any, lot: Lot
) -> None:
    first = write(TestKind.GERMINATION, counts(80, 82, 84, 78), dt.date(2026, 10, 1))
    second = write(TestKind.GERMINATION, counts(*SOUND))

    withdraw_test(session, WHO, test=second, reason="Counted the wrong dishes")

    assert (lot.germination, lot.tested_on) == (0.81, dt.date(2026, 10, 1))
    assert list(list_tests(session, lot)) == [second, first]
    assert (second.withdrawn_by, second.withdrawn_reason) == (WHO, "Counted the wrong dishes")


def test_without_any_test_left_the_typed_figure_is_back(session: Session, write: Any, lot: Lot) -> None:
    made = [write(TestKind.GERMINATION, counts(*SOUND), dt.date(2026, 10, day)) for day in (1, 2)]
    made.append(write(TestKind.PURITY, {"pure_g": 9.0, "other_g": 0.5, "inert_g": 0.5}))
    assert lot.purity == 0.9

    for test in made:
        withdraw_test(session, WHO, test=test, reason="Another lot")

    assert (lot.germination, lot.tested_on) == (0.5, dt.date(2026, 7, 1))
    assert [lot.purity] == [None]


@pytest.mark.parametrize("reason", ["", "  "])
def test_nobody_withdraws_a_test_without_a_reason_or_twice(session: Session, write: Any, reason: str) -> None:
    test = write(TestKind.GERMINATION, counts(*SOUND))
    with pytest.raises(Invalid, match="what was wrong"):
        withdraw_test(session, WHO, test=test, reason=reason)
    withdraw_test(session, WHO, test=test, reason="Mould")

    with pytest.raises(Invalid, match="withdrawn already"):
        withdraw_test(session, WHO, test=test, reason="Mould again")


def test_the_published_weights_come_to_the_published_thousand_seed_weight(write: Any, lot: Lot) -> None:
    test = write(TestKind.WEIGHT, {"weights_g": DIMORPHOTHECA, "seeds": 100})

    # Data of the tutorial; 2.132625 g and 2.0145 % computed from them.
    assert lot.tsw_g == pytest.approx(2.132625)
    assert test.verdict["found"] == pytest.approx(2.0145, abs=5e-5)
    assert (result_text(test), verdict_text(test)) == (
        "2.1326 g",
        "Weights vary by 2 %; up to 4 % are allowed.",
    )


def test_of_sixteen_weights_those_beyond_two_deviations_are_left_out(write: Any, lot: Lot) -> None:
    eight = [1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.4]
    refused = write(TestKind.WEIGHT, {"weights_g": eight, "seeds": 100})
    # Coefficient of variation by hand: SD √(0.14 ÷ 7) = 0.1414 of a mean of 1.05, 13.5 %; limit 4 % from memory.
    assert (refused.is_accepted, lot.tsw_g) == (False, None)
    assert refused.verdict["found"] == pytest.approx(13.469, abs=0.001)

    test = write(TestKind.WEIGHT, {"weights_g": [*eight, *[1.0] * 8], "seeds": 100})

    assert (test.is_accepted, test.verdict["found"]) == (True, 1)
    assert lot.tsw_g == pytest.approx(10.0)
    assert verdict_text(test) == "The mean of sixteen replicates without 1 beyond two standard deviations."


def test_chaffy_seed_may_vary_more(write: Any) -> None:
    # SD 0.05 of a mean of 1: 5 %, between the limits 4 and 6 % (from memory).
    weights = [1 - 0.05 * (7 / 8) ** 0.5, 1 + 0.05 * (7 / 8) ** 0.5] * 4

    found = [
        write(TestKind.WEIGHT, {"weights_g": weights, "seeds": 100, "chaffy": chaffy}).is_accepted
        for chaffy in (False, True)
    ]

    assert found == [False, True]


def test_purity_is_the_pure_part_and_its_parts_must_weigh_what_the_sample_did(write: Any, lot: Lot) -> None:
    parts = {"pure_g": 9.4, "other_g": 0.1, "inert_g": 0.5}
    lost = write(TestKind.PURITY, {**parts, "sample_g": 10.6})
    assert (lost.is_accepted, lot.purity) == (False, None)  # 6 of 106 gone: more than 5 % (from memory)

    kept = write(TestKind.PURITY, {**parts, "sample_g": 10.5})

    assert kept.is_accepted
    assert lot.purity == pytest.approx(0.94)


def test_moisture_is_the_mean_of_two_samples_that_agree(write: Any, lot: Lot) -> None:
    lot.tsw_g = 5.0
    # 10 of 100 and 10.2 of 100 parts lost: 0.2 points apart, 0.3 allowed for small dry seed (from memory).
    good = write(TestKind.MOISTURE, {"samples": [[20.0, 30.0, 29.0], [20.0, 30.0, 28.98]]})
    bad = write(TestKind.MOISTURE, {"samples": [[20.0, 30.0, 29.0], [20.0, 30.0, 28.95]]})

    assert good.is_accepted
    assert lot.moisture_pct == pytest.approx(10.1)
    assert (bad.is_accepted, bad.verdict["found"]) == (False, pytest.approx(0.5))


def test_drying_from_25_to_14_percent_as_published(write: Any, lot: Lot) -> None:
    # IRRI Rice Knowledge Bank: 1,000 kg at 25 % hold 750 of dry matter.
    write(TestKind.MOISTURE, {"samples": [[0.0, 1000.0, 750.0]]})

    assert lot.moisture_pct == pytest.approx(25)


def test_the_seed_a_test_used_leaves_the_lot_through_the_ledger(session: Session, write: Any, lot: Lot) -> None:
    write(TestKind.GERMINATION, counts(*SOUND), taken=12_500)

    moved = session.scalars(select(Movement).where(Movement.lot_id == lot.id, Movement.change < 0)).one()
    assert (lot.amount_mg, moved.change, moved.kind.value, moved.happened_on) == (487_500, -12_500, "sampled", DAY)


def test_what_is_refused_and_never_repeated_is_found(session: Session, write: Any, lot: Lot) -> None:
    write(TestKind.GERMINATION, counts(*SOUND), dt.date(2026, 10, 1))
    refused = write(TestKind.GERMINATION, counts(*APART))
    assert refused_last(list_tests(session, lot)) == [refused]

    write(TestKind.GERMINATION, counts(*SOUND), dt.date(2026, 11, 21))

    assert refused_last(list_tests(session, lot)) == []
    assert rulings(list_tests(session, lot))["germination"] is not None


@pytest.mark.parametrize(
    ("kind", "readings", "field"),
    [
        (TestKind.GERMINATION, counts(80), "counts"),
        (TestKind.GERMINATION, counts(80, 101), "counts"),
        (TestKind.CUT, counts(), "counts"),
        (TestKind.CUT, counts(0, seeds=0), "seeds"),
        (TestKind.PURITY, {"pure_g": 0.0, "other_g": 1.0, "inert_g": 1.0}, "pure_g"),
        (TestKind.WEIGHT, {"weights_g": [1.0] * 7, "seeds": 100}, "weights_g"),
        (TestKind.WEIGHT, {"weights_g": [1.0] * 7 + [0.0], "seeds": 100}, "weights_g"),
        (TestKind.MOISTURE, {"samples": [[5.0, 10.0, 11.0]]}, "dry_1"),
        (TestKind.MOISTURE, {"samples": [[5.0, 10.0, 10.0]]}, "dry_1"),
    ],
)
def test_readings_that_cannot_be_are_refused_at_their_field(
    session: Session, write: Any, kind: TestKind, readings: dict[str, Any], field: str
) -> None:
    with pytest.raises(Invalid) as refused:
        write(kind, readings)

    assert list(refused.value.errors) == [field]
    assert session.scalars(select(SeedTest)).all() == []


def test_tests_lie_between_collecting_and_today_and_cuttings_are_not_tested(
    session: Session, maker: Any, write: Any, today: dt.date
) -> None:
    for day in (dt.date(2026, 5, 31), today + dt.timedelta(1)):
        with pytest.raises(Invalid, match="Correct"):
            write(TestKind.GERMINATION, counts(*SOUND), day)
    with pytest.raises(Invalid, match="out of range"):
        write(TestKind.GERMINATION, counts(*SOUND), days=0)
    cuttings = maker.lot(pieces=50, material=Material.CUTTINGS)
    with pytest.raises(Invalid, match="Cuttings"):
        record_test(
            session,
            WHO,
            lot=cuttings,
            kind=TestKind.CUT,
            tested_on=today,
            readings=counts(1, seeds=2),
            today=today,
        )

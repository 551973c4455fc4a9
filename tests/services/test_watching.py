"""The seed watch: who is on it, why, and in which order."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.seed_tests import TestKind
from nursery.models.types import utc_now
from nursery.services.seed_tests import record_test
from nursery.services.watching import watch_lots

DAY = dt.timedelta(1)


@pytest.fixture
def seed(maker: Any) -> Any:
    """A lot of strawberry tree seed, tested a month ago."""

    def make(key: str = "arbutus-unedo", **values: Any) -> Lot:
        defaults = {
            "collected_on": dt.date(2026, 10, 1), "germination": 0.9, "tested_on": dt.date(2026, 10, 25),
        }  # fmt: skip
        made: Lot = maker.lot(population=maker.population(species=maker.species(key)), **{**defaults, **values})
        return made

    return make


def reasons(session: Session, today: dt.date) -> list[tuple[str, str, str]]:
    return [(each.code, each.reason.value, each.tone) for each in watch_lots(session, today=today)]


def test_a_tested_lot_in_its_place_is_not_watched(session: Session, maker: Any, seed: Any, today: dt.date) -> None:
    seed(storage_place_id=maker.place().id)

    assert reasons(session, today) == []


FROZEN = (
    "It freezes here. The place is at -18 °C, and this seed dies when it freezes. Move it to 0–4 °C at once,"
    " moist, and cut a sample open to see what still lives. Left out of plans because seed of this class dies when"
    " it freezes, and no test since it was put there shows that it lives. Test it to use it."
)
HARMED = (
    "Left out of plans because until 3 Nov 2026 it lay in a place that kills seed of this class, and no test since"
    " shows that it lives. Test it to use it."
)


def texts(session: Session, today: dt.date) -> list[tuple[str, str]]:
    return [(each.reason.value, each.text) for each in watch_lots(session, today=today)]


def test_acorns_that_froze_since_their_test_are_left_out_of_plans_and_nothing_else_is_asked(
    session: Session, maker: Any, seed: Any, today: dt.date
) -> None:
    freezer = maker.place(temperature_c=-18.0)
    seed("quercus-suber", storage_place_id=freezer.id, stored_on=dt.date(2026, 10, 26))

    assert texts(session, today) == [("misplaced", FROZEN)]


def test_acorns_that_have_left_the_freezer_are_still_left_out(
    session: Session, maker: Any, seed: Any, today: dt.date
) -> None:
    seed("quercus-suber", storage_place_id=maker.place().id, harmed_on=dt.date(2026, 11, 3))

    assert texts(session, today) == [("past", HARMED)]


def test_nothing_is_watched_where_there_are_no_lots(session: Session, today: dt.date) -> None:
    assert watch_lots(session, today=today) == []


def test_an_acorn_in_the_freezer_comes_first_and_is_to_be_sown_in_time(
    session: Session, maker: Any, seed: Any, today: dt.date
) -> None:
    seed(code="OLD", collected_on=dt.date(2025, 10, 1), tested_on=dt.date(2025, 11, 20), ripening_year=2025)
    seed("quercus-suber", code="ACORN", storage_place_id=maker.place(temperature_c=-18.0).id)

    # The acorns' day is 150 days after the test (catalogue), 24 March 2027: 119 days ahead, within 120.
    assert reasons(session, today) == [
        ("ACORN", "misplaced", "stop"),
        ("ACORN", "sow", "caution"),
        ("OLD", "retest", "caution"),
    ]


def test_a_lot_without_a_place_is_in_none(session: Session, maker: Any, seed: Any, today: dt.date) -> None:
    old = {"collected_on": dt.date(2025, 10, 1), "tested_on": dt.date(2025, 11, 20), "ripening_year": 2025}
    seed(code="KEPT", storage_place_id=maker.place(name="Fridge").id, **old)
    seed(code="LOOSE", **old)

    assert [(each.code, each.place) for each in watch_lots(session, today=today)] == [
        ("KEPT", "Fridge"), ("LOOSE", ""),
    ]  # fmt: skip


def test_seed_past_half_of_its_test_is_past_its_best_and_no_more(
    session: Session, seed: Any, today: dt.date
) -> None:
    lot = seed("quercus-suber", collected_on=dt.date(2026, 1, 10), tested_on=dt.date(2026, 2, 1))

    found = watch_lots(session, today=today)

    assert [(each.reason.value, each.tone, each.day) for each in found] == [("past", "stop", dt.date(2026, 7, 1))]
    assert (found[0].lot_id, found[0].species_name) == (lot.id, "Quercus suber")
    assert "no plan draws it" in found[0].text


@pytest.mark.parametrize(
    ("ahead", "tone"), [(61, None), (60, "waiting"), (1, "waiting"), (0, "caution"), (-5, "caution")]
)
def test_a_retest_is_told_two_months_ahead(
    session: Session, seed: Any, today: dt.date, ahead: int, tone: str | None
) -> None:
    tested = today + ahead * DAY - 365 * DAY
    seed("rosa-canina", collected_on=tested - DAY, ripening_year=tested.year, tested_on=tested)

    assert [found[2] for found in reasons(session, today)] == ([tone] if tone else [])


def test_seed_that_was_never_tested_says_so(session: Session, seed: Any, today: dt.date) -> None:
    seed(germination=None, tested_on=None)

    found = watch_lots(session, today=today)

    assert [(each.reason.value, each.tone, each.day) for each in found] == [
        ("retest", "waiting", dt.date(2026, 11, 30))
    ]
    assert found[0].text.startswith("Never tested:")


def test_a_refused_test_is_to_be_repeated_until_one_is_accepted(
    session: Session, seed: Any, today: dt.date
) -> None:
    lot = seed()

    def write(counts: list[int], day: dt.date) -> None:
        readings = {"counts": counts, "seeds": 100}
        record_test(
            session,
            "Ana Seabra",
            lot=lot,
            kind=TestKind.GERMINATION,
            tested_on=day,
            readings=readings,
            today=today,
        )

    write([92, 71, 88, 64], today - DAY)
    assert [found[1:] for found in reasons(session, today)] == [("repeat", "caution")]

    write([91, 95, 88, 90], today)

    assert reasons(session, today) == []


def test_empty_archived_and_unknown_lots_are_not_watched(
    session: Session, maker: Any, seed: Any, today: dt.date
) -> None:
    old = {"collected_on": dt.date(2020, 10, 1), "tested_on": dt.date(2020, 11, 1), "ripening_year": 2020}
    seed("quercus-suber", **old, amount_mg=0)
    seed("quercus-suber", **old, archived_at=utc_now())
    unknown = maker.population(species=maker.species("planta-ignota"))
    maker.lot(population=unknown, **old)

    assert reasons(session, today) == []


def test_queries_do_not_grow_with_the_lots(
    session: Session, seed: Any, today: dt.date, engine: Any, count_queries: Any
) -> None:
    sent = []
    for _ in range(2):
        seed("quercus-suber")
        seed()
        session.flush()
        with count_queries(engine) as statements:
            watch_lots(session, today=today)
        sent.append(len(statements))

    assert sent[0] == sent[1]

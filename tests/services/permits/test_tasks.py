"""What is left of a permit, what the plan wants of it, and what it asks of a person."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import CollectionNeed, Plan
from nursery.models.permits import AreaKind
from nursery.services.permits.allowances import Allowance, allowances_by_need, read_allowances
from nursery.services.permits.books import read_book
from nursery.services.permits.glance import glance_at_permits
from nursery.services.permits.notices import lawful_from, note_notice, read_told, season_mark, token
from nursery.services.permits.tasks import PermitTask, read_tasks
from tests.services.permits.permit_maker import make_permit

SQUARE = {"type": "Polygon", "coordinates": [[[-8, 40], [-7, 40], [-7, 41], [-8, 41], [-8, 40]]]}


@pytest.fixture
def need(session: Session, maker: Any, today: dt.date) -> CollectionNeed:
    """30 kg of acorns of RP-3, where one population is known, from 1 December on."""
    species = maker.species()
    maker.population(code="P-9", species=species, region_code="RP-3", basin="Clara", latitude=40.5, longitude=-7.5)
    plan = Plan(label="x", person="Ana", as_of=today, fingerprint="0", engine_version="1", inputs={})
    row = CollectionNeed(
        plan=plan, species_id=species.id, species_name="Quercus suber", region_code="RP-3", basin="Clara",
        opens_on=dt.date(2026, 12, 1), closes_on=dt.date(2027, 1, 15), seeds=6000, grams=27_000.0, fruit_kg=30.0,
        mothers=30, plants=1000,
    )  # fmt: skip
    session.add(row)
    session.flush()
    return row


def allowances(session: Session) -> list[Allowance]:
    return read_allowances(session, read_book(session))


def tasks(session: Session, today: dt.date) -> list[PermitTask]:
    book = read_book(session)
    return read_tasks(session, book, read_allowances(session, book), today)


def told(session: Session, today: dt.date) -> list[tuple[str, dt.date, str]]:
    return [(task.kind.value, task.due_on, task.text) for task in tasks(session, today)]


def test_an_allowance_adds_up(session: Session, maker: Any, need: CollectionNeed) -> None:
    permit = make_permit(session, {"species_id": maker.species().id, "cap_mg": 40_000_000})
    stand = maker.population()
    for amount in (20_000_000, 13_000_000):
        maker.lot(population=stand, amount_mg=amount, permit_id=permit.id)
    maker.lot(population=stand, amount_mg=None, pieces=5, permit_id=permit.id)
    maker.lot(population=stand)  # under no permit

    (found,) = allowances(session)

    assert (found.collected, found.left, found.used) == (33_000_000, 7_000_000, 0.825)
    assert (found.taken.lots, found.taken.otherwise) == (3, 1)
    assert (found.is_nearly_spent, found.tone, found.wanted) == (True, "caution", 30_000_000)
    assert found.say(found.left) == "7 kg"


@pytest.mark.parametrize(
    ("line", "serves"),
    [
        ({}, True),
        ({"area_kind": AreaKind.PLACES, "places": "rp-3"}, True),
        ({"area_kind": AreaKind.PLACES, "places": "Clara"}, True),
        ({"area_kind": AreaKind.PLACES, "places": "P-9"}, True),
        ({"area_kind": AreaKind.PLACES, "places": "RP-4"}, False),
        ({"area_kind": AreaKind.POLYGON, "polygon": SQUARE}, True),
        (
            {
                "area_kind": AreaKind.POLYGON,
                "polygon": {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]},
            },
            False,
        ),
    ],
)
def test_a_need_is_served_by_lines_of_its_area(
    session: Session, maker: Any, need: CollectionNeed, line: dict[str, Any], serves: bool
) -> None:
    permit = make_permit(session, {"species_id": maker.species().id, **line})

    found = allowances_by_need(session, [need])

    assert found is not None
    assert found == (
        {need.id: [Allowance(permit, permit.lines[0], found[need.id][0].taken, [need])]} if serves else {}
    )


def test_a_permit_that_ends_before_the_season_serves_nothing(
    session: Session, maker: Any, need: CollectionNeed
) -> None:
    make_permit(session, {"species_id": maker.species().id}, valid_to=dt.date(2026, 11, 30))

    assert allowances_by_need(session, [need]) == {}


def test_without_permits_nothing_is_said_of_needs(session: Session, need: CollectionNeed) -> None:
    assert allowances_by_need(session, [need]) is None


def test_the_authority_is_to_be_told_before_a_season_and_a_trip(
    session: Session, maker: Any, need: CollectionNeed, today: dt.date
) -> None:
    make_permit(session, {"species_id": maker.species().id}, notice_days=10, valid_to=dt.date(2027, 12, 31))
    maker.trip(code="T-1", collected_on=dt.date(2026, 12, 5))
    maker.trip(code="T-2", collected_on=dt.date(2027, 3, 5))

    assert told(session, today) == [
        (
            "notice",
            dt.date(2026, 11, 21),
            "Tell River Council before collecting Quercus suber, which may begin on 1 Dec 2026.",
        ),
        (
            "notice",
            dt.date(2026, 11, 25),
            "Tell River Council of trip T-1 on 5 Dec 2026, if it collects under this permit.",
        ),
    ]
    assert [task.is_late(today) for task in tasks(session, today)] == [True, False]

    for task in tasks(session, today):
        note_notice(session, "Ana", marks=task.marks, told_on=today)
    assert told(session, today) == []


def test_notices_of_several_species_are_one_task_until_all_are_noted(
    session: Session, maker: Any, need: CollectionNeed, today: dt.date
) -> None:
    alder = maker.species("alnus-glutinosa")
    maker.population(species=alder, region_code="RP-3")
    same = ("region_code", "basin", "closes_on", "seeds", "grams", "fruit_kg", "mothers", "plants", "plan_id")
    values = {name: getattr(need, name) for name in same}
    names = {"species_id": alder.id, "species_name": "Alnus glutinosa"}
    session.add(CollectionNeed(**values, **names, opens_on=dt.date(2026, 11, 28)))
    session.flush()
    permit = make_permit(
        session, {"species_id": need.species_id}, {"species_id": alder.id},
        notice_days=10, valid_to=dt.date(2027, 12, 31),
    )  # fmt: skip

    (task,) = tasks(session, today)

    assert (task.due_on, task.text, task.species) == (
        dt.date(2026, 11, 18),
        "Tell River Council before collecting: 2 species, the first from 28 Nov 2026.",
        (("Alnus glutinosa", dt.date(2026, 11, 28)), ("Quercus suber", dt.date(2026, 12, 1))),
    )
    note_notice(session, "Ana", marks=[f"{permit.id}:{alder.id} 2026-11-28"], told_on=today)
    assert [text for _kind, _day, text in told(session, today)] == [
        "Tell River Council before collecting Quercus suber, which may begin on 1 Dec 2026."
    ]
    note_notice(session, "Ana", marks=tasks(session, today)[0].marks, told_on=today)
    assert told(session, today) == []


def test_one_authority_is_told_once_for_all_its_permits(
    session: Session, maker: Any, need: CollectionNeed, today: dt.date
) -> None:
    line = {"species_id": need.species_id}
    dates = {"notice_days": 10, "valid_to": dt.date(2027, 12, 31)}
    one, other = (make_permit(session, line, number=number, **dates) for number in ("A", "B"))
    make_permit(session, line, number="C", **{**dates, "authority": "Hill Council"})
    later = make_permit(session, line, number="D", **{**dates, "valid_from": dt.date(2026, 12, 5)})
    maker.trip(code="T-1", collected_on=dt.date(2026, 12, 6))

    assert [(task.text, "".join(permit.number for permit in task.permits)) for task in tasks(session, today)] == [
        ("Tell River Council before collecting Quercus suber, which may begin on 1 Dec 2026.", "ABD"),
        ("Tell Hill Council before collecting Quercus suber, which may begin on 1 Dec 2026.", "C"),
        ("Tell River Council of trip T-1 on 6 Dec 2026, if it collects under one of these permits.", "ABD"),
        ("Tell Hill Council of trip T-1 on 6 Dec 2026, if it collects under this permit.", "C"),
    ]  # fmt: skip
    told = note_notice(session, "Ana", marks=tasks(session, today)[0].marks, told_on=today)
    assert told == [one, other, later]
    assert [task.permits[0].number for task in tasks(session, today)] == ["C", "A", "C"]


def test_what_is_due_weeks_later_is_another_notice(session: Session, need: CollectionNeed, today: dt.date) -> None:
    line = {"species_id": need.species_id}
    for number, days in (("A", 5), ("B", 30)):
        make_permit(session, line, number=number, notice_days=days, valid_to=dt.date(2027, 12, 31))

    assert [(task.due_on, task.permits[0].number) for task in tasks(session, today)] == [
        (dt.date(2026, 11, 1), "B"), (dt.date(2026, 11, 26), "A"),
    ]  # fmt: skip


def test_lots_due_on_one_day_are_reported_together(session: Session, maker: Any, today: dt.date) -> None:
    permit = make_permit(session, report_days=30, valid_to=dt.date(2027, 12, 31))
    lots = [maker.lot(code=f"QUSU-{number}", permit_id=permit.id) for number in (1, 2)]
    maker.lot(code="QUSU-3", permit_id=permit.id, collected_on=dt.date(2026, 10, 22))

    assert [(task.text, task.lots) for task in tasks(session, today)] == [
        ("Report the quantities of 2 lots to River Council.", tuple((lot.id, lot.code) for lot in lots)),
        ("Report the quantity of QUSU-3 (Quercus suber, collected on 22 Oct 2026) to River Council.",
         ((lots[1].id + 1, "QUSU-3"),)),
    ]  # fmt: skip


def test_permits_that_end_on_one_day_are_renewed_together(session: Session, maker: Any, today: dt.date) -> None:
    for number in ("A", "B"):
        make_permit(session, {"species_id": maker.species().id}, number=number)

    assert [task.text for task in tasks(session, today)] == [
        "Ask River Council for new permits: A, B end on 31 Dec 2026."
    ]


@pytest.mark.parametrize("marks", [[], [""], ["1:"], ["9:x"], ["x"], ["1:" + "x" * 81], ["²:x"]])
def test_a_notice_that_is_not_known_is_refused(session: Session, today: dt.date, marks: list[str]) -> None:
    make_permit(session)
    with pytest.raises(Invalid, match="This notice is not known any more"):
        note_notice(session, "Ana", marks=marks, told_on=today)


@pytest.mark.parametrize(
    ("notice_days", "told", "day"),
    [
        (0, None, None),
        (10, None, dt.date(2026, 12, 5)),
        (10, dt.date(2026, 11, 20), dt.date(2026, 11, 30)),
        (10, dt.date(2026, 11, 30), dt.date(2026, 12, 5)),  # a day to come tells nobody yet
    ],
)
def test_a_notice_makes_collecting_lawful_from_a_day(
    session: Session, need: CollectionNeed, today: dt.date, notice_days: int, told: dt.date | None,
    day: dt.date | None,
) -> None:  # fmt: skip
    permit = make_permit(session, {"species_id": need.species_id}, notice_days=notice_days)
    mark, _opens = season_mark(permit, need)
    if told is not None:
        note_notice(session, "Ana", marks=[token(permit, mark)], told_on=told)
        note_notice(session, "Ana", marks=[token(permit, mark)], told_on=dt.date(2027, 1, 1))  # the first counts

    assert lawful_from(permit, need, read_told(session, [permit]), today) == day


def test_a_report_is_due_until_it_was_made(session: Session, maker: Any, today: dt.date) -> None:
    permit = make_permit(session, report_days=30, valid_to=dt.date(2027, 12, 31))
    lot = maker.lot(code="QUSU-1", permit_id=permit.id)

    assert told(session, today) == [
        (
            "report",
            dt.date(2026, 11, 19),
            "Report the quantity of QUSU-1 (Quercus suber, collected on 20 Oct 2026) to River Council.",
        )
    ]
    lot.reported_on = today
    assert told(session, today) == []


@pytest.mark.parametrize(
    ("later", "expected"),
    [
        (None, 1),
        ({"valid_from": dt.date(2027, 1, 1)}, 0),
        ({"valid_from": dt.date(2027, 3, 1)}, 1),  # leaves a gap
        ({"valid_from": dt.date(2027, 1, 1), "authority": "Another"}, 1),
    ],
)
def test_a_permit_is_renewed_in_time_unless_another_goes_on(
    session: Session, maker: Any, today: dt.date, later: dict[str, Any] | None, expected: int
) -> None:
    line = {"species_id": maker.species().id}
    make_permit(session, line)
    if later is not None:
        make_permit(session, line, number="COL 2027/1", valid_to=dt.date(2027, 12, 31), **later)

    found = told(session, today)

    assert (
        found
        == [
            (
                "renewal",
                dt.date(2026, 12, 31),
                "Ask River Council for a new permit: COL 2026/1 ends on 31 Dec 2026.",
            )
        ]
        * expected
    )
    assert told(session, dt.date(2026, 9, 1)) == []


def test_the_glance_takes_as_many_queries_for_one_permit_as_for_many(
    session: Session, engine: Any, maker: Any, need: CollectionNeed, today: dt.date, count_queries: Any
) -> None:
    counts = []
    for number in range(1, 7):
        permit = make_permit(
            session, {"species_id": maker.species().id, "cap_mg": 1}, number=str(number), notice_days=7
        )
        maker.lot(permit_id=permit.id, is_held=True)
        session.flush()
        session.expire_all()
        with count_queries(engine) as statements:
            glance = glance_at_permits(session, today=today)
        counts.append((len(glance.nearly_spent), len(glance.held), len(statements)))

    assert [count[:2] for count in counts] == [(number, number) for number in range(1, 7)]
    assert len({count[2] for count in counts}) == 1

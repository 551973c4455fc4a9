"""Batches typed by a person: checked field by field, kept when withdrawn, on record."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.models import Change, Evidence
from nursery.models.lots import Material
from nursery.services.evidence import record_evidence, withdraw_evidence
from nursery.services.setup import set_up

KEY, DAY = "quercus-suber", dt.date(2026, 5, 4)
GOOD: dict[str, Any] = {
    "part": "seed", "rate": "emergence", "successes": 80, "trials": 100, "happened_on": DAY, "source": "bench 3",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _species(session: Session) -> None:
    set_up(session, "Ana")


def write(session: Session, today: dt.date, **values: Any) -> Evidence:
    return record_evidence(session, "Rui", species=KEY, values={**GOOD, **values}, today=today)


def test_a_batch_is_kept_with_who_when_and_what(session: Session, today: dt.date) -> None:
    row = write(session, today)
    assert (row.rate, row.successes, row.trials, row.happened_on, row.source, row.person) == (
        "emergence", 80.0, 100.0, DAY, "bench 3", "Rui",
    )  # fmt: skip
    change = session.scalars(select(Change).where(Change.subject == "evidence")).one()
    assert (change.person, change.action, change.subject_id) == ("Rui", "created", row.id)


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({"rate": "luck"}, "rate", "Choose the rate that was seen."),
        ({"part": "cuttings", "rate": "extraction_yield"}, "rate", "Choose the rate that was seen."),
        ({"successes": 101}, "successes", "101 of 100 cannot be. Give the part first, then the whole."),
        ({"successes": 1.5}, "successes", "1.5 is not a whole number. Leave the decimals out."),
        ({"successes": -1}, "successes", "Write a number from 0 to 10,000,000."),
        ({"trials": None}, "trials", "Write a number from 0 to 10,000,000."),
        ({"trials": float("nan")}, "trials", "Write a number from 0 to 10,000,000."),
        (
            {"successes": 0, "trials": 0},
            "trials",
            "Of nothing nothing can be learned. Give how many there were in all.",
        ),
        ({"happened_on": None}, "happened_on", "Give the day on which it was counted."),
        (
            {"happened_on": dt.date(2026, 11, 26)},
            "happened_on",
            "26 Nov 2026 is still to come. Give the day on which it was counted.",
        ),
        ({"source": "  "}, "source", "Say what was counted where, such as “tray count, Azenha nursery”."),
        ({"source": "x" * 121}, "source", "This has 121 characters; at most 120 fit. Shorten it."),
        ({"lot_id": 999}, "lot_id", "There is no such lot."),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    session: Session, today: dt.date, values: dict[str, Any], field: str, words: str
) -> None:
    with pytest.raises(Invalid) as refused:
        write(session, today, **values)
    assert refused.value.errors == {field: words}


def test_grams_may_have_decimals(session: Session, today: dt.date) -> None:
    assert write(session, today, rate="extraction_yield", successes=12.5, trials=99.5).successes == 12.5


def test_a_lot_of_another_species_or_material_is_refused(session: Session, maker: Any, today: dt.date) -> None:
    other = maker.lot(species=maker.species("arbutus-unedo"))
    cuttings = maker.lot(species=maker.species(KEY), material=Material.CUTTINGS, amount_mg=None, pieces=10)
    for lot, words in ((other, "is of another species"), (cuttings, "is of another material")):
        with pytest.raises(Invalid) as refused:
            write(session, today, lot_id=lot.id)
        assert words in refused.value.errors["lot_id"]


def test_withdrawing_needs_a_reason_and_happens_once(session: Session, today: dt.date) -> None:
    row = write(session, today)
    for reason, words in (("  ", "Say why"), ("x" * 501, "501 characters")):
        with pytest.raises(Invalid) as refused:
            withdraw_evidence(session, "Lia", species=KEY, evidence_id=row.id, reason=reason)
        assert words in refused.value.errors["reason"]
    withdraw_evidence(session, "Lia", species=KEY, evidence_id=row.id, reason="typed twice")
    withdraw_evidence(session, "Rui", species=KEY, evidence_id=row.id, reason="again")
    assert (row.withdrawn_by, row.withdrawn_reason) == ("Lia", "typed twice")
    actions = session.scalars(select(Change.action).where(Change.subject == "evidence").order_by(Change.id)).all()
    assert actions == ["created", "withdrawn"]


def test_a_batch_of_another_species_is_not_found(session: Session, today: dt.date) -> None:
    row = write(session, today)
    with pytest.raises(NotFound):
        withdraw_evidence(session, "Rui", species="arbutus-unedo", evidence_id=row.id, reason="slip")
    with pytest.raises(NotFound):
        withdraw_evidence(session, "Rui", species=KEY, evidence_id=row.id + 1, reason="slip")

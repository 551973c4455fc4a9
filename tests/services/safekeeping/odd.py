"""Rows with values that get lost on the way between databases, if any do."""

from __future__ import annotations

import datetime as dt
import hashlib

from sqlalchemy.orm import Session

from nursery.models import Attachment, Change, Lot, Population, Species
from nursery.models.attachments import AttachmentKind
from nursery.models.movements import MovementKind
from nursery.services import ledger

TEXTS = (
    "", " ", "Ünïcode – “quotes”", "line\nbreak\r\n\ttab", "\u2028\u0085\x1f\x7f", "𐍈 👩🏽‍🌾", "e\u0301 é",
    "'; DROP TABLE lots; --",
    '{"bytes": "AA=="}', "\\N", "\\.", "%(x)s ? :x", "null", "\ufeffmark", "x" * 5000,
)  # fmt: skip
NUMBERS = (0.0, -0.0, 0.1, 1 / 3, 5e-324, 1.7976931348623157e308, float("inf"), 1e15 + 0.3, 40.0)
MOMENTS = (
    dt.datetime(1, 1, 1, tzinfo=dt.UTC),
    dt.datetime(2026, 10, 25, 1, 30, 0, 1, tzinfo=dt.UTC),
    dt.datetime(9999, 12, 31, 23, 59, 59, 999_999, tzinfo=dt.UTC),
)
DETAILS = (
    {},
    {"a": [None, 1.5, True, "é\n", {"b": []}]},
    {"big": 2**60, "tiny": 1e-300},
    {"text": "\ud83c\udf31 \\u0000"},
)


def write_odd_rows(session: Session) -> None:
    """Text, numbers, days, moments, JSON and bytes at their edges, and rows that point at each other."""
    species = Species(key="odd", scientific_name="Quercus suber")
    session.add(species)
    for place, text in enumerate(TEXTS):
        session.add(
            Population(
                code=f"P-{place}",
                name=text[:120],
                notes=text,
                species=species,
                latitude=40 + place / 7,
                longitude=-7.1,
            )
        )
    session.flush()
    stand = Population(code="P-lot", name="Azenha", species=species, latitude=40.0, longitude=-7.0)
    lots = [
        Lot(code=f"L/{place}", species=species, population=stand, collected_on=dt.date(2026, 1, 1),
            ripening_year=2026, amount_mg=2**40 if place else 900, tsw_g=number if number > 0 else None)
        for place, number in enumerate(NUMBERS)
    ]  # fmt: skip
    session.add_all(lots)
    session.flush()
    ledger.open_balances(session, "Ana Seabra", lots)
    day = dt.date(2026, 11, 25)
    taken = ledger.take_from_lot(
        session, "Ana Seabra", lot=lots[0], kind=MovementKind.SAMPLED, measure=ledger.seed_measure(lots[0]),
        amount=5, happened_on=day, today=day,
    )  # fmt: skip
    ledger.reverse_act(session, "Ana Seabra", act=taken.act, reason="slip", today=day)
    for place, content in enumerate((b"\x00", bytes(range(256)), b"\n" * 3, "é".encode("latin-1") * 70_000)):
        session.add(
            Attachment(subject="lots", subject_id=lots[0].id, kind=AttachmentKind.PHOTO, file_name=f"{place}",
                       person="x", media_type="image/png", size=len(content),
                       digest=hashlib.sha256(content).hexdigest(), content=content)
        )  # fmt: skip
    for moment in MOMENTS:
        for details in DETAILS:
            session.add(
                Change(at=moment, person="Ana", action="odd", subject="lots", subject_id=1, details=details)
            )
    session.flush()

"""Writing tests down and withdrawing them; what rules the lot follows at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.models.movements import MovementKind
from nursery.models.seed_tests import TestKind
from nursery.models.types import utc_now
from nursery.services import auditing, limits
from nursery.services.catalogue import effective_entries
from nursery.services.ledger import seed_measure, take_from_lot
from nursery.services.seed_tests import ruling

#: The longest germination test known is some years in soil; common practice, no source.
DAYS = limits.Bounds(1, 1_500)


def list_tests(session: Session, lot: Lot) -> Sequence[SeedTest]:
    """All tests of a lot, the newest first, the withdrawn among them."""
    return session.scalars(
        select(SeedTest).where(SeedTest.lot_id == lot.id).order_by(SeedTest.tested_on.desc(), SeedTest.id.desc())
    ).all()


def record_test(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    kind: TestKind,
    tested_on: dt.date,
    readings: Mapping[str, Any],
    today: dt.date,
    days: int | None = None,
    regime: str = "",
    pretreatment: str = "",
    notes: str = "",
    taken: int = 0,
) -> SeedTest:
    """Judge a test and keep it; an accepted one may set the lot's figure.

    ``readings`` are those of `nursery.services.seed_tests.judging`. ``taken`` is the seed that the test used up
    (milligrams, or pieces of a counted lot), which leaves the lot through the ledger.

    Raises
    ------
    Invalid
        By the name of the value or reading.
    """
    from nursery.services.seed_tests.judging import judge  # noqa: PLC0415 -- slow import

    if lot.material is Material.CUTTINGS:
        raise Invalid({"kind": _("Cuttings are not tested as seed. Their rooting is typed on the lot itself.")})
    refused = limits.refuse_test_date(tested_on, lot.collected_on, today)
    if days is not None and (wrong := DAYS.refusal(days)):
        refused["days"] = wrong
    if refused:
        raise Invalid(refused)
    found = judge(kind, readings, tsw_g=_weight(session, lot))
    test = SeedTest(
        lot_id=lot.id,
        kind=kind,
        tested_on=tested_on,
        person=actor,
        readings=dict(readings),
        result=found.result,
        low=found.low,
        high=found.high,
        is_accepted=found.is_accepted,
        verdict=found.verdict,
        days=days,
        regime=regime,
        pretreatment=pretreatment,
        notes=notes,
    )
    session.add(test)
    auditing.record(
        session, actor, action="tested", row=lot, details={"test": [None, f"{kind.value} {tested_on.isoformat()}"]}
    )
    if taken:
        take_from_lot(
            session, actor, lot=lot, kind=MovementKind.SAMPLED, measure=seed_measure(lot), amount=taken,
            reason=_("Taken for a test"), happened_on=tested_on, today=today,
        )  # fmt: skip
    if test.is_accepted:
        _rule(session, actor, lot, test)
    return test


def used_up(lot: Lot, taken: float) -> int:
    """Seed that a test took, in the measure of the lot's ledger: grams as milligrams, or whole pieces."""
    amount = taken if lot.amount_mg is None else taken * 1000
    if amount < 0 or (lot.amount_mg is None and amount != int(amount)):
        raise Invalid({"taken": _("Give grams, or whole pieces of a counted lot, not below zero.")})
    return round(amount)


def withdraw_test(session: Session, actor: str, *, test: SeedTest, reason: str) -> SeedTest:
    """Take a wrong test back; it stays visible with the reason, and what rules without it rules again."""
    if not reason.strip():
        raise Invalid({"reason": _("Write down what was wrong with the test.")})
    if test.withdrawn_at is not None:
        raise Invalid({"reason": _("This test is withdrawn already.")})
    test.withdrawn_at, test.withdrawn_by, test.withdrawn_reason = utc_now(), actor, reason.strip()
    auditing.record(
        session,
        actor,
        action="test withdrawn",
        row=test.lot,
        details={"test": [f"{test.kind.value} {test.tested_on.isoformat()}", None]},
    )
    if test.is_accepted:
        _rule(session, actor, test.lot, test)
    return test


def get_test(session: Session, lot: Lot, test_id: int) -> SeedTest:
    """A test of this lot."""
    test = session.get(SeedTest, test_id)
    if test is None or test.lot_id != lot.id:
        raise NotFound(_("This lot has no such test."))
    return test


def _rule(session: Session, actor: str, lot: Lot, changed: SeedTest) -> None:
    session.flush()
    ruling.apply(lot, list(reversed(list_tests(session, lot))), changed)
    if auditing.changed_fields(lot):
        auditing.record(session, actor, action="changed", row=lot)
    session.flush()


def _weight(session: Session, lot: Lot) -> float:
    """Thousand-seed weight, own or of the species; it tells large seed from small."""
    if lot.tsw_g is not None:
        return lot.tsw_g
    entry = effective_entries(session, [lot.species_id]).get(lot.species_id)
    return entry.seed.thousand_seed_weight_g if entry else 0.0

"""Two nurseries of the demo: one whose records are tried to be changed, and one to which an account is bound."""

from __future__ import annotations

from sqlalchemy import func, literal, select, union_all, update
from sqlalchemy.orm import Session

from nursery.models import Base, Batch, DispatchLine, Paper, Scouting
from nursery.services.attachments import add_attachment
from nursery.services.costing.expenses import create_expense
from tests.conftest import TODAY
from tests.signing_in import write_sign_in

PERSON = "Ana Seabra"
#: The nursery whose records others keep away from, and the one they are bound to.
THEIRS, OWN = 1, 2
BOUND, FREE = "the-token-of-who-is-bound", "the-token-of-who-is-not"


def keep_apart(session: Session) -> None:
    """Sign in somebody who is bound and somebody who is not, and write down what the demo does not hold."""
    write_sign_in(session, name="Bound", email="bound@tests.example", token=BOUND, nursery_id=OWN)
    write_sign_in(session, name="Free", email="free@tests.example", token=FREE)
    batch = session.scalars(select(Batch).where(Batch.nursery_id == THEIRS).order_by(Batch.id).limit(1)).one()
    create_expense(
        session, PERSON, today=TODAY,
        values={"what": "Fleece", "spent_on": TODAY, "amount": 40.0, "batch_id": batch.id},
    )  # fmt: skip
    seen = session.scalars(select(Scouting).where(Scouting.nursery_id == THEIRS).limit(1)).one()
    add_attachment(session, PERSON, row=seen, file_name="leaf.pdf", content=b"%PDF-1.4 a leaf")
    whole = next(load_id for load_id, nurseries in carried(session).items() if nurseries == {THEIRS})
    session.execute(update(Paper).where(Paper.dispatch_id.is_not(None)).values(dispatch_id=whole))
    session.commit()


def carried(session: Session) -> dict[int, set[int | None]]:
    """Nurseries whose plants each load carries."""
    found: dict[int, set[int | None]] = {}
    pairs = select(DispatchLine.dispatch_id, Batch.nursery_id).join(Batch, DispatchLine.batch_id == Batch.id)
    for load_id, nursery_id in session.execute(pairs):
        found.setdefault(load_id, set()).add(nursery_id)
    return found


def mark_of(session: Session) -> list[tuple[str, int, int]]:
    """Rows of every table, and how often they were changed: whatever people write, the changes among it, shows."""
    session.rollback()
    counts = [
        select(literal(table.name), func.count(), func.coalesce(func.sum(table.c.get("version", literal(0))), 0))
        .select_from(table)
        for table in Base.metadata.sorted_tables
    ]  # fmt: skip
    return [(name, rows, versions) for name, rows, versions in session.execute(union_all(*counts))]

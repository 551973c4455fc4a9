"""What other programs write: each act is that of a page, with the same fields and refusals."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch, Lot
from nursery.models.seed_tests import TestKind
from nursery.services import records
from nursery.services.batches.counting import record_count
from nursery.services.batches.losing import lose
from nursery.services.calculators.calculator import Result
from nursery.services.calculators.composite import read_fields
from nursery.services.calculators.fields import Field
from nursery.services.interface import asking
from nursery.services.seed_tests.recording import record_test, used_up
from nursery.services.work.doing import finish_task, part_task
from nursery.services.work.reading import get_task
from nursery.services.work.words import STATUS_LABELS


@dataclass(frozen=True)
class Write:
    """An act on one record of the resource ``of``; ``run(session, actor, record_id, today, values)`` does it."""

    name: str
    of: str
    title: LazyProxy
    about: LazyProxy
    fields: tuple[Field, ...]
    results: tuple[Result, ...]
    run: Callable[[Session, str, int, dt.date, dict[str, Any]], dict[str, Any]]

    def write(self, session: Session, actor: str, record_id: int, given: Any, *, today: dt.date) -> dict[str, Any]:
        """Read the values, do it, and tell what came of it; nothing is written where anything is refused."""
        if not isinstance(given, Mapping):
            raise Invalid(
                {"input": _("The input is not an object. Give field names and values in braces, as JSON.")}
            )
        return self.run(session, actor, record_id, today, read_fields(self.fields, given))


def _batch_of(session: Session, record_id: int) -> Batch:
    batch = records.get(session, Batch, record_id)
    _refuse_archived(batch)
    return batch


def _lot_of(session: Session, record_id: int) -> Lot:
    lot = records.get(session, Lot, record_id)
    _refuse_archived(lot)
    return lot


def _refuse_archived(row: Batch | Lot) -> None:
    if row.archived_at is not None:
        raise Invalid({"record": _("%(code)s is archived. Bring it back first.", code=row.code)})


def _count(session: Session, actor: str, record_id: int, today: dt.date, values: dict[str, Any]) -> dict[str, Any]:
    batch = _batch_of(session, record_id)
    values["grades"] = {one["name"]: one["plants"] for one in values["grades"] or ()}
    values["counted_on"] = values["counted_on"] or today
    count = record_count(session, actor, batch=batch, today=today, **values)
    return {"id": count.id, "plants": count.plants, "low": count.low, "high": count.high, "alive": batch.alive,
            "trays": batch.trays}  # fmt: skip


def _loss(session: Session, actor: str, record_id: int, today: dt.date, values: dict[str, Any]) -> dict[str, Any]:
    batch = _batch_of(session, record_id)
    values["happened_on"] = values["happened_on"] or today
    moved = lose(session, actor, batch=batch, today=today, **values)
    return {"id": moved.id, "plants": -moved.change, "alive": batch.alive, "trays": batch.trays}


def _germination(
    session: Session, actor: str, record_id: int, today: dt.date, values: dict[str, Any]
) -> dict[str, Any]:
    lot = _lot_of(session, record_id)
    readings = {name: values.pop(name) for name in ("counts", "seeds")}
    test = record_test(
        session, actor, lot=lot, kind=TestKind.GERMINATION, today=today, readings=readings,
        taken=used_up(lot, values.pop("taken")), tested_on=values.pop("tested_on") or today, **values,
    )  # fmt: skip
    session.flush()
    return {"id": test.id, "result": test.result, "low": test.low, "high": test.high, "accepted": test.is_accepted}


def _done(session: Session, actor: str, record_id: int, today: dt.date, values: dict[str, Any]) -> dict[str, Any]:
    task, day, amount = get_task(session, record_id), values["done_on"] or today, values["amount"]
    if amount is None:
        done = finish_task(session, actor, task=task, done_on=day, today=today)
    else:
        done = part_task(session, actor, task=task, amount=amount, done_on=day, today=today)
    return {"id": task.id, "status": task.status.value, "done_amount": task.done_amount, "moved": done.slip.moved}


_ALIVE = (Result("alive", _l("Plants alive"), "whole"), Result("trays", _l("Trays"), "whole"))
_RANGE = (
    Result("low", _l("Low end of the range"), "number"),
    Result("high", _l("High end of the range"), "number"),
)

WRITES = {
    (one.of, one.name): one
    for one in (
        Write(
            "counts", "batches", _l("Count a batch"),
            _l("Give the plants of the whole batch, or those of each tray looked at; not both."),
            asking.COUNT,
            (Result("id", _l("Number of the count"), "whole"), Result("plants", _l("Plants"), "whole"), *_RANGE,
             *_ALIVE),
            _count,
        ),
        Write(
            "losses", "batches", _l("Write a loss down"), _l("Plants that died or were thrown away, and why."),
            asking.LOSS,
            (Result("id", _l("Number of the movement"), "whole"), Result("plants", _l("Plants lost"), "whole"),
             *_ALIVE),
            _loss,
        ),
        Write(
            "germination-tests", "lots", _l("Write a germination test down"),
            _l("It is judged as the page judges it; one that is refused is kept, and rules nothing."),
            asking.GERMINATION,
            (Result("id", _l("Number of the test"), "whole"), Result("result", _l("Germination"), "fraction"),
             *_RANGE, Result("accepted", _l("Accepted"), "flag")),
            _germination,
        ),
        Write(
            "done", "tasks", _l("Say that a task is done"),
            _l("All of it, or some of it with the amount done so far."),
            asking.DONE,
            (Result("id", _l("Number of the task"), "whole"),
             Result("status", _l("Status"), "choice", labels=STATUS_LABELS),
             Result("done_amount", _l("Done"), "number"),
             Result("moved", _l("Tasks that moved with it"), "whole")),
            _done,
        ),
    )
}  # fmt: skip

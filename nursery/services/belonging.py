"""To which nursery a record belongs: the one table. A kind of record that is not in it fails the tests.

A record belongs to every nursery that it leads to: a load of plants from two nurseries to both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from nursery.models import (
    Account,
    AccountRole,
    ApiToken,
    Attachment,
    Bag,
    Base,
    Batch,
    Bench,
    Change,
    Climate,
    CollectionNeed,
    Container,
    Count,
    Decision,
    Deviation,
    Dispatch,
    DispatchLine,
    Draw,
    Evidence,
    Expense,
    FailedSignIn,
    FetchedPlants,
    HygieneCheck,
    Lot,
    Movement,
    NeedPart,
    Nursery,
    OneTimeLink,
    Override,
    Paper,
    Permit,
    PermitLine,
    Person,
    Placement,
    Plan,
    PlanLine,
    Planting,
    PlantMovement,
    Population,
    Preferences,
    QualityCheck,
    Quarantine,
    Recipient,
    ReturnedPlants,
    RuleSet,
    RuleVersion,
    Ruling,
    Scouting,
    Seal,
    SeasonReport,
    SeedTest,
    SignIn,
    Site,
    Species,
    StageRoom,
    StandardTime,
    StoragePlace,
    Strategy,
    Supply,
    SupplyMovement,
    Survey,
    SurveyCount,
    SurveyPlot,
    Target,
    Task,
    Treatment,
    Trip,
    Upload,
    WorkTime,
    Zone,
)

#: Kind of record → the ways that lead to nurseries; of a way's columns the first that is filled counts.
WAYS: dict[type[Base], tuple[tuple[str, ...], ...]] = {
    Container: (("nursery_id",),),
    Bench: (("nursery_id",),),
    # Sown and put on no bench yet, a batch is of the nursery whose trays it stands in.
    Batch: (("nursery_id", "container_id"),),
    Placement: (("batch_id",), ("bench_id",)),
    PlantMovement: (("batch_id",), ("other_batch_id",)),
    Count: (("batch_id",),),
    QualityCheck: (("batch_id",),),
    DispatchLine: (("batch_id",), ("substitutes_id",)),
    FetchedPlants: (("line_id",),),
    ReturnedPlants: (("line_id",),),
    Scouting: (("batch_id",), ("bench_id",), ("nursery_id",)),
    Treatment: (("batch_id",), ("bench_id",), ("nursery_id",)),
    Quarantine: (("batch_id",), ("bench_id",)),
    HygieneCheck: (("nursery_id",),),
    # A task keeps the nursery that it was made for, while its batch may have moved since. Of tasks for seed,
    # permits and surveys none of these is filled.
    Task: (("batch_id", "bench_id", "nursery_id"),),
    WorkTime: (("batch_id",), ("task_id",)),
    Expense: (("batch_id",),),
    # Trays are one nursery's; substrate and labels are bought for all.
    Supply: (("container_id",),),
    SupplyMovement: (("supply_id",), ("batch_id",)),
    # A paper of seed that was given is of no nursery.
    Paper: (("dispatch_id",),),
    Planting: (("batch_id",), ("dispatch_line_id",)),
    Dispatch: (),
    Attachment: (),
}

#: What all nurseries have together, so that an account bound to one may change it as far as its roles allow.
COMMON: frozenset[type[Base]] = frozenset({
    # Seed is collected, stored and tested for all; the plan shares it out.
    Population, Trip, Permit, PermitLine, StoragePlace, Lot, Bag, Movement, SeedTest, Climate, Zone,
    # What is known of species, and how long work takes and how far trays stand apart, holds wherever they grow.
    Species, Override, Evidence, StandardTime, StageRoom,
    # Where plants go, and what becomes of them there.
    Site, Recipient, Ruling, Strategy, RuleSet, RuleVersion, Decision, SurveyPlot, Survey, SurveyCount,
    # There is one plan, whoever grows it. That a target or a line names a container decides where it is grown.
    Target, Plan, PlanLine, Draw, CollectionNeed, NeedPart,
    # A season is reported on as a whole, its deviations too.
    Deviation, SeasonReport,
    # People help where they are needed.
    Person,
    # Accounts are the administrators'; the nursery that stands there says what an account may change, not whose
    # the account is.
    Account, AccountRole, ApiToken, FailedSignIn, OneTimeLink, SignIn,
    # Settings, files on their way in, and the record of changes.
    Preferences, Upload, Change, Seal,
})  # fmt: skip

#: What is told after a nursery has closed as well: plants go into the ground, hours and bills come in, and the
#: substrate of its sowings is taken off the stock of all.
AFTERWARDS: frozenset[type[Base]] = frozenset({Planting, WorkTime, Expense, SupplyMovement})


class Unknown(LookupError):  # noqa: N818 -- reads as a sentence
    """A kind of record of which nobody has said to whom it belongs."""


def nurseries_of(session: Session, row: Base, before: Mapping[str, Any] | None = None) -> set[int]:
    """Ids of the nurseries that a record belongs to, and of those it left if its columns were as in ``before``.

    Raises
    ------
    Unknown
        For a kind of record that is not in the table.
    """
    model = type(row)
    if isinstance(row, Nursery):
        return {row.id}
    if model in COMMON:
        return set()
    if model in _OTHERWISE:
        return _OTHERWISE[model](session, row)
    if model not in WAYS:
        raise Unknown(model.__name__)
    found: set[int] = set()
    for way in WAYS[model]:
        now = {column: getattr(row, column) for column in way}
        found |= _follow(session, model, now)
        if before and before.keys() & now.keys():
            found |= _follow(session, model, {column: before.get(column, value) for column, value in now.items()})
    return found


def values_before(row: Base) -> dict[str, Any]:
    """The columns that lead to nurseries and were changed, as the database has them still."""
    state = inspect(row)
    found = {}
    for column in {column for way in WAYS.get(type(row), ()) for column in way}:
        deleted = state.attrs[column].history.deleted
        if deleted:
            found[column] = deleted[0]
    return found


def model_of(table: str) -> type[Base]:
    """The kind of record that a table holds."""
    return next(one.class_ for one in Base.registry.mappers if one.class_.__tablename__ == table)


def _follow(session: Session, model: type[Base], way: Mapping[str, int | None]) -> set[int]:
    for column, record_id in way.items():
        if record_id is None:
            continue
        (key,) = inspect(model).columns[column].foreign_keys
        led = model_of(key.column.table.name)
        if led is Nursery:
            return {record_id}
        row = session.get(led, record_id)
        return nurseries_of(session, row) if row is not None else set()
    return set()


def _of_load(session: Session, row: Any) -> set[int]:
    lines = session.scalars(select(DispatchLine).where(DispatchLine.dispatch_id == row.id))
    return {nursery_id for line in lines for nursery_id in nurseries_of(session, line)}


def _of_file(session: Session, row: Any) -> set[int]:
    beside = session.get(model_of(row.subject), row.subject_id)
    return nurseries_of(session, beside) if beside is not None else set()


#: Kinds that no column of their own leads on from: a load by its lines, a file by what it stands beside.
_OTHERWISE: dict[type[Base], Callable[[Session, Any], set[int]]] = {Dispatch: _of_load, Attachment: _of_file}

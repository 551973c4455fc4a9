"""Addresses of all pages, found by themselves.

A new route whose address names a new kind of record needs an example here.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from sqlalchemy import select
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from nursery.models import (
    Bench,
    Climate,
    CollectionNeed,
    Container,
    Count,
    Decision,
    Dispatch,
    Expense,
    Lot,
    Movement,
    Nursery,
    Paper,
    Person,
    Plan,
    PlanLine,
    PlantMovement,
    Population,
    QualityCheck,
    Recipient,
    ReturnedPlants,
    RuleSet,
    Site,
    Species,
    StoragePlace,
    Supply,
    Survey,
    SurveyPlot,
    Target,
    Task,
    Trip,
    Upload,
    WorkTime,
    Zone,
)
from nursery.models.movements import MovementKind
from nursery.services.calculators import CALCULATORS
from nursery.services.calculators.calculator import Calculator
from nursery.services.programme import read_programme
from nursery.web.calculators.form import typed_values
from tests.browser.seasons import LINK
from tests.browser.serving import Served
from tests.conftest import TODAY

#: The record of each capability's ``record_id``, and those of arguments that name their record themselves.
RECORDS = {
    "containers": Container.id, "lots": Lot.id, "needs": CollectionNeed.id, "nurseries": Nursery.id,
    "plans": Plan.id, "plans.line": PlanLine.id, "populations": Population.id, "sites": Site.id,
    "species": Species.key, "storage": StoragePlace.id, "targets": Target.id, "trips": Trip.id,
    "lot_id": Lot.id, "site_id": Site.id, "target_id": Target.id, "upload_id": Upload.id, "plan_id": Plan.id,
    "zones": Zone.id, "climates": Climate.id, "rule_set_id": RuleSet.id, "decision_id": Decision.id,
    "batches": PlantMovement.batch_id, "batch_id": PlantMovement.batch_id,  # one that something happened to
    "benches": Bench.id, "supplies": Supply.id, "nursery_id": Nursery.id,
    "expenses": Expense.id, "hours": WorkTime.id, "work": Task.id, "people": Person.id, "token": Person.feed_token,
    "surveys": Survey.id, "plots": SurveyPlot.id,
    **{f"surveys.{page}": SurveyPlot.site_id for page in ("of_site", "chart", "sheet")},
    "papers": Paper.id, "dispatch_id": Dispatch.id, "recipients": Recipient.id, "look_id": QualityCheck.id,
    "task_id": Task.id,
}  # fmt: skip


def _example(calculator: Calculator) -> dict[str, object]:
    return {"name": calculator.name, **typed_values(calculator, calculator.example)}


#: Pages that look different when asked for something special: endpoint and questions.
SPECIAL: tuple[tuple[str, dict[str, object]], ...] = (
    ("imports.preview", {"upload_id": 2}),  # a row of it is refused
    ("lots.list_page", {"q": "nothing is called this"}), ("lots.list_page", {"archived": "all", "sort": "-code"}),
    ("trips.detail", {"record_id": 1}), ("trips.list_page", {"archived": "yes"}),
    ("targets.list_page", {"q": "quercus"}), ("targets.new", {"site": 1, "species": 1}),
    ("search.page", {"q": "quercus"}), ("search.page", {"q": "nothing is called this"}),
    ("trace.page", {"q": "quercus"}), ("trace.page", {"q": "nothing is called this"}),
    ("plans.current", {"status": "short"}), ("plans.detail", {"record_id": 2}),
    ("plans.compare", {"before": 1, "after": 1}),
    ("work.page", {"week": "2027-W05"}), ("work.page", {"person": "none", "job": "sow"}),
    ("work.page", {"job": "survey", "place": "n99"}), ("work.page", {"marked": 1}),
    ("work.sheet", {"week": "2027-W05"}), ("work.list_page", {"when": "late"}),
    ("hours.page", {"by": "person", "weeks": 13}), ("hours.page", {"by": "place", "from": "2027-W10"}),
    ("costs.page", {"by": "batch"}), ("costs.page", {"by": "funder", "season": 2027}),
    ("surveys.of_site", {"record_id": 1, "goal": "target"}), ("surveys.counts", {"state": "stands"}),
    ("what_if.page", {"species": "quercus-suber", "assurance": "95", "season": 2028}),
    ("what_if.page", {"species": "quercus-suber", "assurance": "many"}),
    ("hours.log_new", {"task": 1}),
    ("sowing.list_page", {"week": "2027-W05"}), ("sowing.list_page", {"week": "2031-W05"}),
    ("batches.new", {"draw": 1}), ("batches.list_page", {"left": "alive", "archived": "all"}),
    *(("batches.act", {"record_id": 1, "act_name": name}) for name in ("move", "split", "dispatch", "thin")),
    ("calendar.page", {"season": 2028}), ("calendar.page", {"season": 2040}),
    ("species.list_page", {"q": "nothing is called this"}),
    ("origin.page", {"species": "quercus-rotundifolia"}), ("origin.page", {"lot": "nothing is called this"}),
    ("origin.strategy", {"site_id": 5, "kind": "composite"}),
    ("map.page", {"lat": 39.41, "lon": -5.26, "zoom": 5}),
    ("map.page", {"species": "quercus-suber", "season": 2027}),
    ("zones.look", {"zone_file_id": 4}),  # a feature of it is refused
    ("zones.list_page", {"kind": "basin"}), ("climates.list_page", {"period": "expected", "kind": "site"}),
    *(("calculators.page", {"do": "calculate", **_example(one)}) for one in CALCULATORS.values()),
)  # fmt: skip
WORDS = {
    "week": "2026-W49",
    "act_name": "sample",
    "batches.act_name": "lose",
    "figure": "seed.purity",
    "name": "sowing",
    "part": "all",
    "secret": LINK,
}


def blueprint(capability: str) -> str:
    """Name of the blueprint, with which its endpoints begin."""
    name: str = import_module(f"nursery.web.{capability}").bp.name
    return name


def pages_of(capability: str, served: Served) -> list[str]:
    """An address for each route of a capability that can be looked at, files included."""
    with served.session() as session:
        return [
            served.address(rule.endpoint, **{name: example(name, rule, session) for name in rule.arguments})
            for rule in served.app.url_map.iter_rules()
            if rule.endpoint.startswith(f"{blueprint(capability)}.") and "GET" in (rule.methods or ())
        ]


def lists(served: Served) -> list[str]:
    """Pages that need no record, and so are there on the first day; forms look as on any day."""
    return [
        served.address(rule.endpoint)
        for rule in served.app.url_map.iter_rules()
        if not rule.arguments and rule.methods == {"GET", "HEAD", "OPTIONS"} and not rule.rule.startswith("/api/")
    ]


def example(name: str, rule: Rule, session: Session) -> object:
    """A value for one part of an address: the first record, or one of the words it takes."""
    choices = getattr(rule._converters[name], "items", None)
    if choices:
        return min(choices)
    area = rule.endpoint.split(".")[0]
    for key in (name, rule.endpoint, area) if name == "record_id" else (name,):
        if key in RECORDS:
            return session.scalar(select(RECORDS[key]).order_by(RECORDS[key].class_.id).limit(1))
    name = f"{area}.{name}" if f"{area}.{name}" in {*COMPUTED, *WORDS} else name
    return COMPUTED[name](session) if name in COMPUTED else WORDS.get(name, 1)


def _act(session: Session) -> str | None:
    """An act on the first lot."""
    first = select(Lot.id).order_by(Lot.id).limit(1).scalar_subquery()
    return session.scalar(select(Movement.act).where(Movement.lot_id == first).limit(1))


def _count(session: Session) -> int | None:
    """A count of the batch that something happened to first."""
    first = select(PlantMovement.batch_id).order_by(PlantMovement.id).limit(1).scalar_subquery()
    return session.scalar(select(Count.id).where(Count.batch_id == first).limit(1))


def _outing(session: Session) -> str:
    """An outing of the programme, which is no record."""
    programme = read_programme(session, today=TODAY)
    assert programme
    return programme.trips[0].key


def _waiting(kind: str) -> Callable[[Session], object]:
    """A file of this kind that waits for a yes."""
    return lambda session: session.scalar(
        select(Upload.id).where(Upload.kind == kind).order_by(Upload.id).limit(1)
    )


def _back(name: str) -> Callable[[Session], object]:
    """A part of the address of plants that came back and wait for a decision."""

    def found(session: Session) -> object:
        row = session.scalars(select(ReturnedPlants).where(ReturnedPlants.decision.is_(None))).one()
        return {"record_id": row.line.dispatch_id, "load_line_id": row.line_id, "return_id": row.id}[name]

    return found


COMPUTED: dict[str, Callable[[Session], object]] = {
    **{f"dispatches.{name}": _back(name) for name in ("record_id", "load_line_id", "return_id")},
    "papers.act": lambda session: session.scalar(
        select(Movement.act).where(Movement.kind == MovementKind.GIVEN).order_by(Movement.id).limit(1)
    ),
    "act": _act,
    "batches.act": lambda session: session.scalar(select(PlantMovement.act).order_by(PlantMovement.id).limit(1)),
    "batches.count_id": _count,
    "trip_key": _outing,
    "zone_file_id": _waiting("zones"),
    "climate_file_id": _waiting("climates"),
}

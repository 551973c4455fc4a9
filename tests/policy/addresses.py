"""Addresses of every route, with real records of the demo in them."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from nursery.models import (
    Account,
    ApiToken,
    Batch,
    Container,
    Count,
    Decision,
    Dispatch,
    DispatchLine,
    Lot,
    Movement,
    Nursery,
    PermitLine,
    Person,
    Plan,
    PlanLine,
    PlantMovement,
    Population,
    QualityCheck,
    ReturnedPlants,
    RuleSet,
    SignIn,
    Site,
    Species,
    StoragePlace,
    Target,
    Task,
    Trip,
    Upload,
)
from nursery.models.movements import MovementKind
from nursery.services.programme import read_programme
from tests.browser.seasons import LINK
from tests.conftest import TODAY

#: What a part of an address stands for, so that real records are asked for.
BY_NAME = {
    "population_id": Population.id,
    "trip_id": Trip.id,
    "lot_id": Lot.id,
    "storage_place_id": StoragePlace.id,
    "place_id": StoragePlace.id,
    "site_id": Site.id,
    "nursery_id": Nursery.id,
    "container_id": Container.id,
    "batch_id": Batch.id,
    "count_id": Count.id,
    "target_id": Target.id,
    "plan_id": Plan.id,
    "other_id": Plan.id,
    "line_id": PlanLine.id,
    "species_id": Species.id,
    "rule_set_id": RuleSet.id,
    "decision_id": Decision.id,
    "upload_id": Upload.id,
    "token": Person.feed_token,
    "dispatch_id": Dispatch.id,
    "load_line_id": DispatchLine.id,
    "return_id": ReturnedPlants.id,
    "look_id": QualityCheck.id,
    "task_id": Task.id,
    "key": Species.key,
    "species_key": Species.key,
    "account_id": Account.id,
    "sign_in_id": SignIn.id,
    "token_id": ApiToken.id,
}
#: Words that some addresses take, for those that no record stands for.
WORDS = {
    "kind": "lots", "name": "sowing", "figure": "seed.purity", "path": "seed.purity", "table": "lots",
    "filename": "nursery.css", "season": 2027, "locale": "pt",
    "act_name": "sample", "week": "2026-W49", "part": "all", "secret": LINK,
}  # fmt: skip


#: Files that wait for a yes, by what they bring.
WAITING = {"zone_file_id": "zones", "climate_file_id": "climates"}
#: Parts of an address that stand for a record by its number.
NUMBERS = (BY_NAME.keys() | WAITING.keys() | {"record_id"}) - {"key", "species_key", "token"}


def values_of(rule: Rule, session: Session) -> dict[str, object]:
    if "act" in rule.arguments:  # an act of the ledger is shown under a lot that it moved
        if rule.endpoint.startswith("batches."):
            plants = session.scalars(select(PlantMovement).order_by(PlantMovement.id).limit(1)).one()
            return {"act": plants.act, "record_id": plants.batch_id}
        movements = select(Movement).order_by(Movement.id).limit(1)
        if rule.endpoint.startswith("papers."):  # seed that was given, and a paper of all of it
            gift = session.scalars(movements.where(Movement.kind == MovementKind.GIVEN)).one()
            named = {"act": gift.act, "kind": "delivery-note", "part": "all"}
            return {name: named[name] for name in rule.arguments}
        movement = session.scalars(movements).one()
        return {"act": movement.act, "record_id": movement.lot_id}
    if "line_id" in rule.arguments and rule.endpoint.startswith("permits."):  # a line of a permit, not of a plan
        line = session.scalars(select(PermitLine).order_by(PermitLine.id).limit(1)).one()
        return {"line_id": line.id, "record_id": line.permit_id}
    if rule.endpoint == "batches.act":
        return {"act_name": "lose", "record_id": value_of("batch_id", rule, session)}
    return {name: value_of(name, rule, session) for name in rule.arguments}


def value_of(name: str, rule: Rule, session: Session) -> object:
    choices = getattr(rule._converters.get(name), "items", None)
    if choices:  # one of a few words
        return min(choices)
    if name == "trip_key":  # an outing of the programme, which is no record
        programme = read_programme(session, today=TODAY)
        assert programme
        return programme.trips[0].key
    if rule.endpoint.startswith("dispatches.") and {"load_line_id", "return_id"} & rule.arguments:
        # Plants that came back, of which a test may have made away with the last.
        waiting = select(ReturnedPlants).order_by(ReturnedPlants.decision.is_not(None), ReturnedPlants.id)
        back = session.scalars(waiting.limit(1)).first()
        lines = {} if back is None else {"record_id": back.line.dispatch_id, "load_line_id": back.line_id}
        return {"record_id": 1, "load_line_id": 1, "return_id": back.id if back else 1, **lines}.get(name, "later")
    found: object = None
    if name in WAITING:
        found = session.scalar(select(Upload.id).where(Upload.kind == WAITING[name]).limit(1))
    elif name in BY_NAME:
        found = session.scalar(select(BY_NAME[name]).limit(1))
    return WORDS.get(name, 1) if found is None else found

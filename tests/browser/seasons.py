"""Databases that the browser looks at, made by the same services as a person's clicks."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Account, Nursery, OneTimeLink, Task, Trip
from nursery.models.accounts import Scope
from nursery.models.supplies import SupplyMovementKind
from nursery.planning.growing.words import Stage
from nursery.planning.work.words import TaskStatus
from nursery.services import importing, records
from nursery.services.accounts.api_tokens import make_token
from nursery.services.accounts.people import new_link
from nursery.services.accounts.tokens import token_hash
from nursery.services.benches import create_bench
from nursery.services.climates import keep_climate_file
from nursery.services.people import create_person
from nursery.services.planning import make_plan
from nursery.services.space.footprint import set_room
from nursery.services.species import set_figure
from nursery.services.supplies.stock import move
from nursery.services.work.doing import assign_tasks, finish_task, skip_task
from nursery.services.work.feeds import renew_common_address
from nursery.services.zones import keep_zone_file
from tests.conftest import TODAY
from tests.signing_in import FAR
from tests.supplies import a_supply

PERSON = "Ana Seabra"
#: Secret of a one-time link that is still good.
LINK = "the secret of an open link"
#: One row to write, one that is refused for each reason a table can show.
SITES = "Code;Name;Latitude;Longitude;Area\nS-NEW;Vale da Eira;{latitude};-7,4;2,5\n"

#: A region that can be taken; with another last point its outline is not closed.
ZONES = (
    '{"type": "Feature", "properties": {"code": "EX-1", "name": "Example"}, "geometry": {"type": "Polygon",'
    ' "coordinates": [[[-6, 39], [-5, 39], [-5, 40], LAST]]}}'
)
NORMALS = "place code,kind,period,mean_annual_c\nS-001,site,present,15.1\nS-999,site,present,15.2\n"


@contextmanager
def opened(url: str) -> Iterator[Session]:
    """A session on the database, committed at the end."""
    engine = make_engine(url)
    with Session(engine) as session, session.begin():
        yield session
    engine.dispose()


def use_for_some_time(session: Session) -> None:
    """To the demo season, an own figure, a second plan, work given and done, an archived trip, and files."""
    set_figure(session, PERSON, key="quercus-suber", figure="seed.purity", value=0.9, reason="Weighed in our shed")
    make_plan(session, PERSON, today=TODAY, label="After weighing")
    _work(session)
    _room(session)
    _accounts(session)
    trip = session.scalar(select(Trip).order_by(Trip.id).limit(1))
    assert trip is not None
    records.archive(session, PERSON, trip)
    _import(session, SITES.format(latitude="40,2"), confirm=True)
    _import(session, SITES.format(latitude="140,2"), confirm=False)
    for last in ("[-6, 39]", "[-6, 38]"):
        text = ZONES.replace("LAST", last).encode()
        keep_zone_file(session, PERSON, file_name="zones.geojson", content=text)
        session.flush()
    keep_climate_file(session, PERSON, file_name="normals.csv", content=NORMALS.encode())


def _work(session: Session) -> None:
    """Somebody has work, and some of it is done, skipped and put off."""
    worker = create_person(session, PERSON, values={"name": "Xana Prado", "hours_per_week": 30.0}, today=TODAY)
    is_open = Task.status == TaskStatus.OPEN
    tasks = session.scalars(select(Task).where(is_open).order_by(Task.due_on, Task.id).limit(12)).all()
    assign_tasks(session, PERSON, tasks=tasks[::2], person_id=worker.id)
    finish_task(session, PERSON, task=tasks[0], done_on=TODAY, today=TODAY)
    skip_task(session, PERSON, task=tasks[1], reason="Seed looked sound", today=TODAY)
    renew_common_address(session, PERSON)


def _accounts(session: Session) -> None:
    """Somebody has an open one-time link and a token."""
    account = session.scalars(select(Account).order_by(Account.id).limit(1)).one()
    new_link(session, PERSON, account=account, at=FAR)
    link = session.scalars(select(OneTimeLink).where(OneTimeLink.used_at.is_(None))).one()
    link.token_hash = token_hash(LINK)
    make_token(session, PERSON, account=account, name="Sensor sheet", scope=Scope.READ, ends_on=TODAY, today=TODAY)


def _room(session: Session) -> None:
    """Benches, water, and substrate that was counted and will not last."""
    nursery_id = session.scalars(select(Nursery.id).order_by(Nursery.id).limit(1)).one()
    for name in ("Lean-to", "Long table"):
        create_bench(
            session, PERSON, values={"nursery_id": nursery_id, "name": name, "area_m2": 12.0}, today=TODAY
        )
    set_room(session, PERSON, stage=Stage.GROWING, spacing=1.5, water_l_per_m2_day=6.0)
    mix = a_supply(session, name="Bark mix of the shed", pack=70.0, price_per_pack=9.5)
    move(
        session, PERSON, supply=mix, kind=SupplyMovementKind.COUNTED, amount=900.0, happened_on=TODAY, today=TODAY
    )


def _import(session: Session, text: str, *, confirm: bool) -> None:
    kept = importing.keep_upload(session, PERSON, kind="sites", file_name="sites.csv", content=text.encode())
    session.flush()
    if confirm:
        importing.confirm(session, PERSON, upload_id=kept.id, today=TODAY)

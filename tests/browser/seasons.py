"""Databases that the browser looks at, made by the same services as a person's clicks."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Trip
from nursery.services import importing, records
from nursery.services.planning import make_plan
from nursery.services.setup import set_up
from nursery.services.species import set_figure
from tests.conftest import TODAY

PERSON = "Ana Seabra"
#: One row to write, one that is refused for each reason a table can show.
SITES = "Code;Name;Latitude;Longitude;Area\nS-NEW;Vale da Eira;{latitude};-7,4;2,5\n"


@contextmanager
def opened(url: str) -> Iterator[Session]:
    """A session on the database, committed at the end."""
    engine = make_engine(url)
    with Session(engine) as session, session.begin():
        yield session
    engine.dispose()


def with_catalogue(empty: Path, folder: Path) -> Path:
    """What `nursery serve` leaves when it is first started."""
    file = Path(shutil.copy(empty, folder / "nursery.sqlite"))
    with opened(f"sqlite:///{file}") as session:
        set_up(session, PERSON)
    return file


def after_some_use(demo: Path, folder: Path) -> Path:
    """The demo season with an own figure, a second plan, an archived trip, and files imported and waiting."""
    file = Path(shutil.copy(demo, folder / "nursery.sqlite"))
    with opened(f"sqlite:///{file}") as session:
        set_figure(
            session, PERSON, key="quercus-suber", figure="seed.purity", value=0.9, reason="Weighed in our shed"
        )
        make_plan(session, PERSON, today=TODAY, label="After weighing")
        trip = session.scalar(select(Trip).order_by(Trip.id).limit(1))
        assert trip is not None
        records.archive(session, PERSON, trip)
        _import(session, SITES.format(latitude="40,2"), confirm=True)
        _import(session, SITES.format(latitude="140,2"), confirm=False)
    return file


def _import(session: Session, text: str, *, confirm: bool) -> None:
    kept = importing.keep_upload(session, PERSON, kind="sites", file_name="sites.csv", content=text.encode())
    session.flush()
    if confirm:
        importing.confirm(session, PERSON, upload_id=kept.id, today=TODAY)

"""One process' share of the trials, and the season that they spoil."""

from __future__ import annotations

import tempfile
from pathlib import Path

from sqlalchemy.orm import Session

from nursery.database import make_engine, upgrade
from tests.conftest import TODAY
from tests.fuzzing.tally import Tally
from tests.fuzzing.trying import try_all
from tests.fuzzing.world import world


def run(work: tuple[Path, int, int]) -> Tally:
    """One process' share."""
    season, tries, start = work
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder, world(season, Path(folder)) as made:
        try_all(made, tally, tries=tries, start=start)
    return tally


def make_season(folder: Path) -> Path:
    """The demo season with its plan."""
    from nursery.services.demo import load_demo
    from nursery.services.planning import adopt_plan, make_plan

    file = folder / "season.sqlite"
    engine = make_engine(f"sqlite:///{file}")
    upgrade(engine)
    with Session(engine) as session, session.begin():
        load_demo(session, "Ana Seabra", today=TODAY)
        adopt_plan(session, "Ana Seabra", plan_id=make_plan(session, "Ana Seabra", today=TODAY, label="Demo").id)
    engine.dispose()
    return file

"""One process' share of the trials, and the season that they spoil."""

from __future__ import annotations

import tempfile
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from nursery.database import upgrade
from tests.conftest import TODAY
from tests.databases import Kept, OnSqlite, make_once
from tests.fuzzing.tally import Tally
from tests.fuzzing.trying import try_all
from tests.fuzzing.world import world

ANA = "Ana Seabra"


def run(work: tuple[Path, int, int]) -> Tally:
    """One process' share."""
    seasons, tries, start = work
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder, world(make_season(seasons), Path(folder)) as made:
        try_all(made, tally, tries=tries, start=start)
    return tally


def make_season(folder: Path) -> Kept:
    """The demo season with its plan, kept in a folder and made where it is missing."""

    def write(engine: Engine) -> None:
        from nursery.services.demo import load_demo
        from nursery.services.planning import adopt_plan, make_plan

        upgrade(engine)
        with Session(engine) as session, session.begin():
            load_demo(session, ANA, today=TODAY)
            adopt_plan(session, ANA, plan_id=make_plan(session, ANA, today=TODAY, label="Demo").id)

    return make_once(OnSqlite(folder), "season", None, write, folder / "making")

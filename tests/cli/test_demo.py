"""``nursery demo``."""

from __future__ import annotations

import datetime as dt
import http.client
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import Result
from sqlalchemy import String, func, select
from sqlalchemy.orm import Session

from nursery.cli import opening
from nursery.database import make_engine
from nursery.models import Base, Change, Plan, PlanLine, PlantMovement, Site
from nursery.services.demo.dating import finished_day, floor_day
from tests.cli.conftest import running_in

Run = Callable[..., Result]


def shown(result: Result) -> str:
    assert result.exit_code == 0, result.output
    return result.output


@contextmanager
def in_file(file: Path) -> Iterator[Session]:
    engine = make_engine(f"sqlite:///{file}")
    with Session(engine) as session, session.begin():
        yield session
    engine.dispose()


@dataclass(frozen=True)
class Made:
    """The home in which the demo was made for the first time, beside an own nursery, and what was shown."""

    home: Path
    text: str
    own_before: bytes


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    home = tmp_path_factory.mktemp("made") / "a nursery 100%"
    with running_in(home) as run:
        assert run("upgrade").exit_code == 0
        before = (home / "nursery.sqlite").read_bytes()
        yield Made(home, shown(run("demo", "--no-serve")), before)


@pytest.fixture
def again(made: Made, home: Path) -> None:
    """The home is one where the demo was made already."""
    home.mkdir()
    shutil.copy(made.home / "demo.sqlite", home)


def test_it_says_where_the_database_is_and_sums_the_plan_up_on_one_screen(made: Made) -> None:
    home, text = made.home, made.text

    assert str(home / "demo.sqlite") in text.splitlines()[0]
    assert len(text.splitlines()) <= 32
    assert max(map(len, text.splitlines()[1:])) <= 90
    for heading in ("To do until", "To collect", "Falls short", "Ready plants expected"):
        assert heading in text
    with in_file(home / "demo.sqlite") as session:
        assert len(session.scalars(select(Plan).where(Plan.is_adopted)).all()) == 1


def test_its_counts_are_those_of_the_adopted_plan(made: Made) -> None:
    home, text = made.home, made.text
    on_track, collect, short, late = map(int, re.findall(r"(\d+) (?:lines|wait|short of|too late)", text))

    with in_file(home / "demo.sqlite") as session:
        adopted = select(PlanLine).join(PlanLine.plan).where(Plan.is_adopted)
        status = [line.status.value for line in session.scalars(adopted)]
    assert [status.count(word) for word in ("on-track", "collect", "short", "late")] == [
        on_track,
        collect,
        short,
        late,
    ]


def test_everything_is_written_down_by_the_coordinator_of_the_demo_by_name(made: Made) -> None:
    with in_file(made.home / "demo.sqlite") as session:
        named = {
            str(column)
            for table in Base.metadata.sorted_tables
            for column in table.c
            if isinstance(column.type, String)
            and session.scalar(select(func.count()).where(column == "coordinator"))
        }
        persons = {*session.scalars(select(Change.person)), *session.scalars(select(PlantMovement.person))}

    assert named == {"account_roles.role"}
    assert persons == {"Ana Seabra"}


@pytest.mark.usefixtures("again")
def test_it_keeps_what_was_changed_this_week_and_starts_anew_when_asked(run: Run, home: Path) -> None:
    with in_file(home / "demo.sqlite") as session:
        session.scalars(select(Site)).first().name = "Renamed"  # type: ignore[union-attr]

    def names() -> list[str]:
        with in_file(home / "demo.sqlite") as session:
            return list(session.scalars(select(Site.name)))

    run("demo", "--no-serve")
    assert "Renamed" in names()
    run("demo", "--no-serve", "--fresh")
    assert "Renamed" not in names()


@pytest.mark.usefixtures("again")
def test_a_stale_season_is_made_anew(
    run: Run, home: Path, today: dt.date, monkeypatch: pytest.MonkeyPatch
) -> None:
    later = today + dt.timedelta(days=40)
    monkeypatch.setattr(opening, "day", lambda: later)

    run("demo", "--no-serve")

    with in_file(home / "demo.sqlite") as session:
        made = [plan.as_of for plan in session.scalars(select(Plan).order_by(Plan.id))]
        assert made == [finished_day(later), floor_day(later), later]


def test_the_own_nursery_is_never_touched(made: Made) -> None:
    assert (made.home / "nursery.sqlite").read_bytes() == made.own_before


def test_a_named_database_with_own_records_is_refused_in_words(
    run: Run, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("upgrade")
    with in_file(home / "nursery.sqlite") as session:
        session.add(Site(code="MINE", name="Own site", latitude=39.0, longitude=-7.0))
    monkeypatch.setenv("NURSERY_DATABASE_URL", f"sqlite:///{home / 'nursery.sqlite'}")

    result = run("demo", "--no-serve")

    assert result.exit_code == 2
    assert "records of your own" in result.output
    with in_file(home / "nursery.sqlite") as session:
        assert session.scalars(select(Site.code)).all() == ["MINE"]


@pytest.mark.usefixtures("again")
def test_a_port_in_use_is_told_in_words(run: Run) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        result = run("demo", "--port", str(other.getsockname()[1]))

    assert result.exit_code == 2
    assert "--port" in result.output
    assert "Traceback" not in result.output


@pytest.mark.usefixtures("again")
def test_it_serves_the_season(home: Path) -> None:
    command = [sys.executable, "-m", "nursery", "demo", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, encoding="utf-8") as server:
        assert server.stdout is not None
        port = next(
            int(found[1]) for line in server.stdout if (found := re.search(r"http://127\.0\.0\.1:(\d+)/", line))
        )
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        try:
            connection.request("GET", "/")
            answer = connection.getresponse()
            page = answer.read().decode()
        finally:
            connection.close()
            server.terminate()

    assert answer.status == 200
    assert "<h1" in page

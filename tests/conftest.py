"""What every test may ask for: a migrated database, a session that leaves nothing behind, the application."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, create_engine, event, select
from sqlalchemy.orm import Session

from nursery.config import Settings
from nursery.database import make_engine, upgrade
from nursery.i18n import set_locale
from nursery.models import (
    Batch,
    Bench,
    Container,
    Lot,
    Nursery,
    Placement,
    Population,
    Site,
    Species,
    StoragePlace,
    Target,
    Trip,
)
from nursery.planning.words import Method
from nursery.services.ledger import open_balances
from tests.databases import Kept, OnSqlite, Store, make_once
from tests.databases_postgres import OnPostgres
from tests.postgres import has_postgres, promise_server, shared_server, withdraw_server
from tests.signing_in import write_sign_in

#: The day on which all tests happen.
TODAY = dt.date(2026, 11, 25)
#: On which databases everything that touches one is tried.
STORES = ["sqlite", "postgresql"] if os.environ.get("NURSERY_STORES") == "both" else ["sqlite"]


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "postgres: needs Debian's PostgreSQL server and the driver psycopg")
    config.addinivalue_line("markers", "sqlite: is about SQLite's own file")
    if not hasattr(config, "workerinput"):
        promise_server()


def pytest_unconfigure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        withdraw_server()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what cannot run here: tests of the browser without Chromium, of PostgreSQL without a server.

    Where one was promised they run, and would fail.
    """
    left_out = [item for item in items if _is_of_one(item, "sqlite") and _store(item) == "postgresql"]
    if not (os.environ.get("CI") or os.environ.get("NURSERY_CHROMIUM") or has_chromium()):
        left_out += [item for item in items if _is_of_one(item, "browser")]
    if not (os.environ.get("NURSERY_POSTGRES") or has_postgres()):
        left_out += [item for item in items if _is_of_one(item, "postgres") or _store(item) == "postgresql"]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in set(left_out)]


def _is_of_one(item: pytest.Item, marker: str) -> bool:
    return item.get_closest_marker(marker) is not None


def _store(item: pytest.Item) -> str:
    """On which kind of database it runs; nothing for one without."""
    called = getattr(item, "callspec", None)
    return str(called.params.get("store", "")) if called else ""


def has_chromium() -> bool:
    from tests.browser.chromium import find_chromium  # only where browser tests were collected

    try:
        return bool(find_chromium())
    except AssertionError:
        return False


@pytest.fixture(autouse=True)
def _english() -> None:
    set_locale("en")


@pytest.fixture
def today() -> dt.date:
    return TODAY


@pytest.fixture(scope="session", params=STORES)
def store(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Where databases are kept: whatever touches one is tried on SQLite and on PostgreSQL."""
    if request.param == "sqlite":
        own = tmp_path_factory.getbasetemp()
        shared = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "made-once"
        shared.mkdir(exist_ok=True)
        yield OnSqlite(shared)
    else:
        server = create_engine(shared_server(), isolation_level="AUTOCOMMIT")
        store = OnPostgres(server, os.environ.get("PYTEST_XDIST_WORKER", "alone"))
        yield store
        store.close()


@pytest.fixture(autouse=True)
def _taken_back(request: pytest.FixtureRequest) -> Iterator[None]:
    """Databases that a test had on the server for itself are free again; what modules share was made before."""
    store = request.getfixturevalue("store") if "store" in request.fixturenames else None
    if isinstance(store, OnPostgres):
        first = len(store.used)
        yield
        store.take_back(first)
    else:
        yield


@pytest.fixture(scope="session")
def empty_database(store: Store, tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """A database brought up to date by the migrations, with an account that is signed in, to be copied."""

    def write(engine: Engine) -> None:
        upgrade(engine)
        with Session(engine) as session, session.begin():
            write_sign_in(session)

    return make_once(store, "empty", None, write, tmp_path_factory.mktemp("making"))


@pytest.fixture(scope="session")
def made_once(store: Store, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Kept]:
    """``made_once(name, start, write)`` is a copy of ``start`` into which ``write`` wrote what it is for.

    It is made once for all workers, and to be copied.
    """

    def made(name: str, start: Kept, write: Callable[[Session], object]) -> Kept:
        def commit(engine: Engine) -> None:
            with Session(engine) as session, session.begin():
                write(session)

        return make_once(store, name, start, commit, tmp_path_factory.mktemp("making"))

    return made


@pytest.fixture(scope="session")
def seasons(empty_database: Kept, made_once: Callable[..., Kept]) -> Callable[[dt.date], Kept]:
    """The demo season of a day, to be copied."""
    from nursery.services.demo import load_demo  # a test without the demo need not import it

    def season(day: dt.date) -> Kept:
        return made_once(str(day), empty_database, lambda session: load_demo(session, "Ana Seabra", today=day))

    return season


@pytest.fixture(scope="session")
def demo_file(seasons: Callable[[dt.date], Kept], made_once: Callable[..., Kept]) -> Kept:
    """The demo season of `TODAY`, its plan made and adopted, to be copied."""
    from nursery.services.planning import adopt_plan, make_plan

    def plan(session: Session) -> None:
        adopt_plan(session, "Ana Seabra", plan_id=make_plan(session, "Ana Seabra", today=TODAY, label="Demo").id)

    return made_once("planned", seasons(TODAY), plan)


@pytest.fixture(scope="session")
def lived_in_file(demo_file: Kept, made_once: Callable[..., Kept]) -> Kept:
    """The demo season after some use, so that every page has something to show, to be copied."""
    from tests.browser.seasons import use_for_some_time

    return made_once("lived-in", demo_file, use_for_some_time)


@pytest.fixture
def loaded_on(seasons: Callable[[dt.date], Kept], tmp_path: Path) -> Iterator[Callable[[dt.date], Session]]:
    """``loaded_on(day)`` is a session on a copy of that day's demo season."""
    with ExitStack() as left:

        def loaded(day: dt.date) -> Session:
            engine = make_engine(seasons(day).copy(tmp_path, f"season-{day}"))
            left.callback(engine.dispose)
            return left.enter_context(Session(engine, expire_on_commit=False))

        yield loaded


@pytest.fixture
def database(empty_database: Kept, tmp_path: Path) -> str:
    """Address of a database of this test's own."""
    return empty_database.copy(tmp_path)


@pytest.fixture
def engine(database: str) -> Iterator[Engine]:
    engine = make_engine(database)
    yield engine
    engine.dispose()


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    with Session(engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture
def settings(database: str, tmp_path: Path) -> Settings:
    return Settings(
        database_url=database, data_dir=tmp_path, secret_key="a secret for tests only", person="Ana Seabra"
    )


@pytest.fixture
def count_queries() -> Callable[[Engine], AbstractContextManager[list[str]]]:
    """``with count_queries(engine) as statements:`` collects the SELECTs.

    Left out are the two that are part of any page: who is there, and what the newest seal is.
    """

    @contextmanager
    def counting(engine: Engine) -> Iterator[list[str]]:
        statements: list[str] = []

        def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
            any_page = "FROM sign_ins" in statement or statement.startswith("SELECT seals.hash")
            if statement.startswith("SELECT") and not any_page:
                statements.append(statement)

        event.listen(engine, "before_cursor_execute", note)
        yield statements
        event.remove(engine, "before_cursor_execute", note)

    return counting


class Maker:
    """Writes plausible records of an invented basin; every value can be given instead."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.made = 0

    def species(self, key: str = "quercus-suber") -> Species:
        found = self.session.scalar(select(Species).where(Species.key == key))
        name = key.replace("-", " ").capitalize()
        return found or self._add(Species(key=key, scientific_name=name))

    def population(self, **values: Any) -> Population:
        self.made += 1
        species = values.pop("species", None) or self.species()
        defaults = {
            "code": f"P-{self.made:03d}",
            "name": f"Azenha {self.made}",
            "latitude": 40.1,
            "longitude": -7.5,
        }
        return self._add(Population(**{**defaults, "species_id": species.id, **values}))

    def trip(self, **values: Any) -> Trip:
        self.made += 1
        defaults = {"code": f"T-2026-{self.made:03d}", "collected_on": dt.date(2026, 10, 20)}
        return self._add(Trip(**{**defaults, **values}))

    def place(self, **values: Any) -> StoragePlace:
        self.made += 1
        return self._add(StoragePlace(**{"name": f"Fridge {self.made}", "temperature_c": 4.0, **values}))

    def lot(self, **values: Any) -> Lot:
        self.made += 1
        population = values.pop("population", None) or self.population()
        amount = {} if "pieces" in values else {"amount_mg": 500_000}
        defaults = {
            "code": f"L/{self.made}", "population_id": population.id, "species_id": population.species_id,
            "collected_on": dt.date(2026, 10, 20), "ripening_year": 2026, **amount,
        }  # fmt: skip
        lot: Lot = self._add(Lot(**{**defaults, **values}))
        open_balances(self.session, "Ana Seabra", [lot])
        return lot

    def site(self, **values: Any) -> Site:
        self.made += 1
        defaults = {
            "code": f"S-{self.made:03d}",
            "name": f"Bank {self.made}",
            "latitude": 40.2,
            "longitude": -7.4,
            "area_ha": 2.5,
        }
        return self._add(Site(**{**defaults, **values}))

    def nursery(self, **values: Any) -> Nursery:
        self.made += 1
        defaults = {"name": f"Yard {self.made}", "latitude": 40.15, "longitude": -7.45, "bench_area_m2": 120.0}
        return self._add(Nursery(**{**defaults, **values}))

    def container(self, **values: Any) -> Container:
        self.made += 1
        nursery = values.pop("nursery", None) or self.nursery()
        defaults = {"name": f"Tray {self.made}", "cells_per_tray": 40, "cell_volume_cm3": 300.0}
        return self._add(Container(**{**defaults, "nursery_id": nursery.id, **values}))

    def target(self, **values: Any) -> Target:
        site, species = values.pop("site", None) or self.site(), values.pop("species", None) or self.species()
        wanted = {} if "density_per_ha" in values else {"plants": 500}
        defaults = {"site_id": site.id, "species_id": species.id, "season": 2027, **wanted}
        return self._add(Target(**{**defaults, **values}))

    def bench(self, **values: Any) -> Bench:
        self.made += 1
        nursery = values.pop("nursery", None) or self.nursery()
        defaults = {"name": f"Bench {self.made}", "area_m2": 12.0}
        return self._add(Bench(**{**defaults, "nursery_id": nursery.id, **values}))

    def batch(self, *, bench: Bench | None = None, **values: Any) -> Batch:
        """A batch as it stands, without its ledger; what counts and moves belongs to its services."""
        self.made += 1
        lot = values.pop("lot", None) or self.lot()
        sown_on = values.get("sown_on", dt.date(2026, 11, 2))
        defaults = {
            "code": f"B-{self.made:03d}", "lot_id": lot.id, "species_id": lot.species_id, "method": Method.DIRECT,
            "sown_on": sown_on, "stage_on": sown_on, "seeds": 400, "seeds_per_cell": 1, "trays": 10,
            "cells_per_tray": 40,
        }  # fmt: skip
        batch: Batch = self._add(Batch(**{**defaults, **values}))
        if bench is not None:
            self._add(
                Placement(
                    batch_id=batch.id, bench_id=bench.id, trays=batch.trays, from_on=sown_on, person="Ana Seabra"
                )
            )
        return batch

    def _add(self, row: Any) -> Any:
        self.session.add(row)
        self.session.flush()
        return row


@pytest.fixture
def maker(session: Session) -> Maker:
    return Maker(session)

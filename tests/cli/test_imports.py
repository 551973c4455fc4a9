"""``nursery import``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Site

Run = Callable[..., Result]

HEADINGS = "code;name;latitude;longitude;area (ha);basin\n"
GOOD = HEADINGS + "S-1;Upper ford;39,5;-5,5;2,5;Guadorva\nS-2;Lower ford;39,4;-5,4;;Guadorva\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    file = tmp_path / "sites.csv"
    file.write_text(GOOD, encoding="utf-8")
    return file


def sites(home: Path) -> list[tuple[str, float | None]]:
    engine = make_engine(f"sqlite:///{home / 'nursery.sqlite'}")
    with Session(engine) as session:
        found = [(site.code, site.area_ha) for site in session.scalars(select(Site).order_by(Site.code))]
    engine.dispose()
    return found


def test_a_good_file_is_written_once(run: Run, home: Path, file: Path) -> None:
    first = run("import", "sites", str(file), "--yes")
    again = run("import", "sites", str(file), "--yes")

    assert first.exit_code == 0, first.output
    assert "2 rows: 2 new, 0 changed, 0 unchanged, 0 refused" in first.output
    assert "2 rows: 0 new, 0 changed, 2 unchanged, 0 refused" in again.output
    assert sites(home) == [("S-1", 2.5), ("S-2", None)]


def test_nothing_is_written_before_the_person_says_yes(run: Run, home: Path, file: Path) -> None:
    declined = run("import", "sites", str(file), input="n\n")

    assert "Nothing was written" in declined.output
    assert sites(home) == []

    run("import", "sites", str(file), input="y\n")
    assert sites(home) == [("S-1", 2.5), ("S-2", None)]


def test_one_bad_row_keeps_all_out_and_is_named(run: Run, home: Path, file: Path) -> None:
    file.write_text(GOOD + "S-3;Nowhere;139,4;-5,4;;Guadorva\n", encoding="utf-8")

    result = run("import", "sites", str(file), "--yes")

    assert result.exit_code == 2
    assert "row 4, latitude, “139,4”" in result.output
    assert sites(home) == []


def test_an_unknown_kind_or_file_is_refused(run: Run, file: Path) -> None:
    assert run("import", "spoons", str(file)).exit_code == 2
    assert run("import", "sites", str(file.with_name("none.csv"))).exit_code == 2

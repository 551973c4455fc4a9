"""``nursery upgrade``, ``nursery check`` and ``nursery catalog check``."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from nursery import resources

Run = Callable[..., Result]


def test_upgrade_makes_the_database_and_its_species(run: Run, home: Path) -> None:
    result = run("upgrade")

    assert result.exit_code == 0
    assert str(home / "nursery.sqlite") in result.output
    with sqlite3.connect(home / "nursery.sqlite") as connection:
        species = connection.execute("SELECT count(*) FROM species").fetchone()[0]
        preferences = connection.execute("SELECT count(*) FROM preferences").fetchone()[0]
    connection.close()
    assert species == len(list((resources.seed_catalog() / "species").glob("*.toml")))
    assert preferences == 1


def test_a_sound_database_passes_the_check(run: Run) -> None:
    run("upgrade")
    result = run("check")

    assert result.exit_code == 0
    assert "are sound" in result.output


def test_a_row_that_points_nowhere_is_found(run: Run, home: Path) -> None:
    run("upgrade")
    with sqlite3.connect(home / "nursery.sqlite") as connection:
        connection.execute(
            "INSERT INTO overrides (species_id, figure, value, person, changed_at)"
            " VALUES (9999, 'a', '1', 'b', 'c')"
        )
    connection.close()

    result = run("check")

    assert result.exit_code == 1
    assert "1 row of overrides points at a missing row of species (species_id)." in result.output


def test_an_outdated_database_is_named_and_not_changed(run: Run, home: Path) -> None:
    run("upgrade")
    with sqlite3.connect(home / "nursery.sqlite") as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0006'")
    connection.close()

    result = run("check")

    assert result.exit_code == 2
    assert "nursery upgrade" in result.output


def test_a_database_that_does_not_say_its_version_is_a_fault(run: Run, home: Path) -> None:
    run("upgrade")
    with sqlite3.connect(home / "nursery.sqlite") as connection:
        connection.execute("DELETE FROM alembic_version")
    connection.close()

    result = run("check")

    assert result.exit_code == 1
    assert "The database does not say of which version its tables are." in result.output


def test_without_a_database_one_is_told_how_to_start(run: Run, home: Path) -> None:
    result = run("check")

    assert result.exit_code == 2
    assert "nursery serve" in result.output
    assert not (home / "nursery.sqlite").exists()


def test_the_shipped_catalogue_passes(run: Run) -> None:
    result = run("catalog", "check")

    assert result.exit_code == 0
    assert "no fault" in result.output


def test_a_fault_in_a_catalogue_is_named(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "catalogue"
    shutil.copytree(resources.seed_catalog(), folder)
    file = folder / "species" / "quercus-suber.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace('family = "Fagaceae"', "family = 3"), encoding="utf-8"
    )

    result = run("catalog", "check", str(folder))

    assert result.exit_code == 1
    assert "quercus-suber.toml: family = 3" in result.output

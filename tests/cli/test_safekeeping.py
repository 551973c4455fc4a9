"""``nursery backup``, ``nursery restore`` and ``nursery move``."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

Run = Callable[..., Result]


def add_stand(home: Path, code: str) -> None:
    connection = sqlite3.connect(home / "nursery.sqlite")
    with connection:
        connection.execute(
            "INSERT INTO populations (code, name, species_id, latitude, longitude, indigenous_status, version,"
            " created_at)"
            " VALUES (?, 'Azenha', 1, 40, -7, 'unknown', 1, '2026-11-25 10:00:00.000000')",
            (code,),
        )
    connection.close()


def stands(file: Path) -> list[str]:
    connection = sqlite3.connect(file)
    found = [code for (code,) in connection.execute("SELECT code FROM populations ORDER BY code")]
    connection.close()
    return found


def fingerprint(result: Result) -> str:
    found = re.search(r"fingerprint ([0-9a-f]{64})", result.output)
    assert found, result.output
    return found[1]


def test_a_nursery_is_backed_up_and_brought_back(run: Run, home: Path, tmp_path: Path) -> None:
    run("upgrade")
    add_stand(home, "P-1")
    file = str(tmp_path / "backup.zip")
    backup = run("backup", file)
    add_stand(home, "P-2")
    refused = run("restore", file)
    both = stands(home / "nursery.sqlite")
    restored = run("restore", file, "--replace")

    assert (backup.exit_code, refused.exit_code, restored.exit_code) == (0, 2, 0)
    assert "holds 2 records that would be lost (populations 2)" in refused.output
    assert both == ["P-1", "P-2"]
    assert stands(home / "nursery.sqlite") == ["P-1"]
    assert fingerprint(backup) == fingerprint(restored)
    (kept,) = home.glob("nursery.sqlite.before-*")
    assert str(kept) in restored.output
    assert stands(kept) == ["P-1", "P-2"]
    assert run("check").exit_code == 0


def test_a_nursery_moves_to_another_file(run: Run, home: Path, tmp_path: Path) -> None:
    run("upgrade")
    add_stand(home, "P-1")
    moved = run("move", f"sqlite:///{tmp_path / 'other.sqlite'}")
    again = run("move", f"sqlite:///{tmp_path / 'other.sqlite'}")

    assert (moved.exit_code, again.exit_code) == (0, 2)
    assert "set NURSERY_DATABASE_URL" in moved.output
    assert "would be lost" in again.output
    assert stands(tmp_path / "other.sqlite") == stands(home / "nursery.sqlite") == ["P-1"]


def test_without_a_nursery_there_is_nothing_to_back_up(run: Run, tmp_path: Path) -> None:
    result = run("backup", str(tmp_path / "backup.zip"))

    assert result.exit_code == 2
    assert "There is no database" in result.output
    assert list(tmp_path.glob("backup*")) == []

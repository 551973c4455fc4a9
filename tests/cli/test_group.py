"""The command line as a whole: quick help, plain words, exit codes."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import Result
from sqlalchemy.exc import ArgumentError, OperationalError

from nursery.cli import COMMANDS
from nursery.cli.group import LazyGroup, in_words
from nursery.errors import Invalid, NotFound

Run = Callable[..., Result]


def nursery(*words: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "nursery", *words],
        check=False,
        capture_output=True,
        env={**os.environ, **environment},
    )


def test_help_names_every_command(run: Run) -> None:
    text = run("--help").output

    assert [name for name in COMMANDS if f"  {name} " not in text] == []


def test_help_loads_none_of_the_heavy_libraries() -> None:
    heavy = ("sqlalchemy", "flask", "numpy", "pandas", "scipy", "matplotlib", "alembic")
    script = (
        "import sys\nfrom nursery.cli import main\n"
        "main(['--help'], standalone_mode=False)\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    answer = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert answer.stdout.splitlines()[-1] == "[]"


def test_help_comes_at_once() -> None:
    nursery("--help")  # compiles what is new
    before = os.times()
    nursery("--help")
    after = os.times()

    # Processor time: the clock on the wall also counts what else the machine does.
    assert after.children_user + after.children_system - before.children_user - before.children_system < 0.6


def test_output_is_utf_8_whatever_the_terminal_says(home: Path) -> None:
    answer = nursery("plan", LC_ALL="C", PYTHONIOENCODING="ascii")

    assert answer.returncode == 2
    assert "“nursery serve”" in answer.stderr.decode("utf-8")


def of_sqlite(code: int, words: str) -> OperationalError:
    """What SQLAlchemy raises for an error of SQLite."""
    error = sqlite3.OperationalError(words)
    error.sqlite_errorcode = code
    return OperationalError("SELECT 1", {}, error)


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (Invalid({"area": "7 is too much."}), "area: 7 is too much."),
        (NotFound("There is no such lot."), "There is no such lot."),
        (PermissionError(13, "Permission denied", "/a/file"), "Permission denied /a/file"),
        (
            of_sqlite(sqlite3.SQLITE_BUSY, "database is locked"),
            "Somebody else is writing (database is locked). Nothing was written; try again.",
        ),
        (
            of_sqlite(sqlite3.SQLITE_IOERR, "disk I/O error"),
            "The database does not answer (disk I/O error). See that it runs and can be reached.",
        ),
        (
            of_sqlite(sqlite3.SQLITE_CORRUPT, "malformed"),
            "The database is damaged (malformed). Keep the file, and bring a backup back with “nursery restore”.",
        ),
        (
            of_sqlite(sqlite3.SQLITE_ERROR, "no such table"),
            "The database refused (no such table). Run “nursery check” to see what is wrong with it.",
        ),
        (
            ArgumentError("Could not parse it"),
            (
                "NURSERY_DATABASE_URL is no address of a database (Could not parse it)."
                " Write it like sqlite:////home/ana/nursery.sqlite."
            ),
        ),
        (
            ValueError("odd"),
            "Something unforeseen went wrong (ValueError: odd). Nothing was written.",
        ),
    ],
)
def test_every_mishap_is_told_in_words(error: Exception, words: str) -> None:
    assert in_words(error) == words


def test_a_mishap_ends_with_code_2_and_without_a_stack_trace(home: Path) -> None:
    @click.command()
    def fails() -> None:
        raise RuntimeError("odd")

    group = LazyGroup("nursery", commands={"fails": fails}, commands_at={})
    result = click.testing.CliRunner().invoke(group, ["fails"])

    assert result.exit_code == 2
    assert "odd" in result.output
    assert "Traceback" not in result.output

"""What takes long to load waits until it is used."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

#: Each takes a tenth of a second or more, or brings hundreds of modules with it.
HEAVY = (
    "PIL", "alembic", "argon2", "fontTools", "fpdf", "icalendar", "lxml", "matplotlib", "openpyxl", "pandas",
    "pyotp", "scipy", "segno", "zxcvbn",
)  # fmt: skip
PAGES = (
    "from pathlib import Path\n"
    "from nursery.app import create_app\n"
    "from nursery.config import Settings\n"
    "app = create_app(Settings('sqlite://', Path('{folder}'), 'a secret for tests only'))\n"
    "assert app.test_client().get('/static/nursery.css').status_code == 200\n"
)
HELP = (
    "from click.testing import CliRunner\n"
    "from nursery.cli import main\n"
    "assert CliRunner().invoke(main, ['-h']).exit_code == 0\n"
)


def loaded(root: Path, script: str) -> set[str]:
    """The names of the packages that a process has loaded which ran this."""
    names = "sorted({name.partition('.')[0] for name in sys.modules})"
    told = f"{script}\nimport json, sys\nprint(json.dumps({names}))"
    answer = subprocess.run(
        [sys.executable, "-c", told], cwd=root, check=True, capture_output=True, text=True,
        env={**os.environ, "NURSERY_DATABASE_URL": "sqlite://"},
    )  # fmt: skip
    return set(json.loads(answer.stdout.splitlines()[-1]))


def test_the_pages_start_without_what_takes_long_to_load(root: Path, tmp_path: Path) -> None:
    found = loaded(root, PAGES.format(folder=tmp_path))

    assert {"flask", "sqlalchemy", "numpy"} <= found
    assert sorted(found & set(HEAVY)) == []


def test_help_comes_without_the_pages(root: Path) -> None:
    found = loaded(root, HELP)

    assert "click" in found
    assert sorted(found & {*HEAVY, "flask", "numpy", "sqlalchemy"}) == []


@pytest.mark.parametrize(
    ("use", "library"),
    [
        ("from nursery.planning.heavy import pd; assert pd.DataFrame({'a': [1, 2]})['a'].sum() == 3", "pandas"),
        ("from nursery.planning.heavy import special; assert special.ndtr(0.0) == 0.5", "scipy"),
        ("from nursery.documents.heavy import segno; assert segno.make_qr('a').version == 1", "segno"),
        ("from nursery.services.heavy import pyotp; assert len(pyotp.random_base32(32)) == 32", "pyotp"),
    ],
)
def test_it_is_loaded_when_it_is_used(root: Path, use: str, library: str) -> None:
    named, _semicolon, used = use.partition("; ")

    assert library not in loaded(root, named)
    assert library in loaded(root, f"{named}\n{used}")

"""What is released holds everything, and works where no checkout is near."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import pytest

from nursery import __version__

#: Folders beside the package that become part of it.
INSIDE = ("templates", "migrations", "seed_catalog")
NAME = "native_nursery_planner"


@pytest.fixture(scope="module")
def released(root: Path, files: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the source distribution and the wheel made from it, both from a clean copy, offline."""
    copy = tmp_path_factory.mktemp("copy")
    for file in files:
        place = copy / file.relative_to(root)
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(file, place)
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(copy / "dist"), str(copy)]
    answer = subprocess.run(command, check=False, capture_output=True, text=True)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    return copy / "dist"


@pytest.fixture(scope="module")
def wheel(released: Path) -> Path:
    return released / f"{NAME}-{__version__}-py3-none-any.whl"


def shipped(relative: PurePosixPath) -> str | None:
    """Where a file of the checkout lies in the wheel."""
    if relative.parts[0] == "nursery":
        return str(relative)
    return f"nursery/{relative}" if relative.parts[0] in INSIDE else None


def test_the_wheel_holds_exactly_the_package_and_its_folders(wheel: Path, root: Path, files: list[Path]) -> None:
    expected = {
        place for file in files if (place := shipped(PurePosixPath(file.relative_to(root).as_posix()))) is not None
    }
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}

    assert held == expected
    assert {name.split("/")[1] for name in held} >= {*INSIDE, "static", "services", "planning"}


def test_the_source_distribution_holds_what_is_needed_to_build_and_test(released: Path) -> None:
    with tarfile.open(released / f"{NAME}-{__version__}.tar.gz") as archive:
        top = {PurePosixPath(name).parts[1] for name in archive.getnames() if len(PurePosixPath(name).parts) > 1}

    assert top >= {"nursery", *INSIDE, "tests", "README.md", "LICENSE", "pyproject.toml", "requirements.lock"}


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """An environment of its own with the wheel installed, in a folder whose name trips careless code.

    The libraries are those of the environment the tests run in: their folder is put on the path, behind the wheel.
    """
    place = tmp_path_factory.mktemp("elsewhere") / "a place 100% away"
    venv.create(place, symlinks=True)
    python = place / "bin" / "python"
    command = [
        sys.executable,
        "-m",
        "pip",
        "--python",
        str(python),
        "install",
        "--no-deps",
        "--no-index",
        "--quiet",
    ]
    answer = subprocess.run([*command, str(wheel)], check=False, capture_output=True, text=True)
    assert answer.returncode == 0, answer.stdout + answer.stderr
    packages = subprocess.run(
        [str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    libraries = dict.fromkeys(sysconfig.get_path(name) for name in ("purelib", "platlib"))
    Path(packages, "libraries.pth").write_text("\n".join(libraries) + "\n", encoding="utf-8")
    yield place
    shutil.rmtree(place)


def run(place: Path, *words: str) -> str:
    """Run a program of the environment from its own folder, with a home of its own."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("NURSERY_", "PYTHON"))}
    program, *rest = words
    answer = subprocess.run(
        [str(place / "bin" / program), *rest],
        check=False,
        cwd=place,
        env={**kept, "HOME": str(place), "NURSERY_DATA_DIR": str(place / "data")},
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert answer.returncode == 0, answer.stdout + answer.stderr
    return answer.stdout


SCRIPT = """
import json, pathlib, re
import nursery
from nursery.app import create_app
from nursery.cli.opening import current_settings
app = create_app(current_settings())
client = app.test_client()
home = client.get("/")
links = re.findall(r'(?:href|src)="(/static/[^"?]+)', home.get_data(as_text=True))
files = {link: client.get(link).status_code for link in links}
print(json.dumps({
    "from": str(pathlib.Path(nursery.__file__).parent), "home": home.status_code, "files": files,
    "portuguese": client.get("/", headers={"Accept-Language": "pt"}).status_code,
}))
"""


def test_it_runs_where_it_is_installed(installed: Path) -> None:
    summary = run(installed, "nursery", "demo", "--no-serve")
    plan = json.loads(run(installed, "nursery", "plan", "--json"))
    pages = json.loads(run(installed, "python", "-c", SCRIPT))
    checked = run(installed, "nursery", "check")

    assert str(installed / "data" / "demo.sqlite") in summary
    assert len(plan["lines"]) >= 70
    assert Path(pages["from"]).is_relative_to(installed)
    assert pages["home"] == pages["portuguese"] == 200
    assert set(pages["files"].values()) == {200}
    assert "are sound" in checked

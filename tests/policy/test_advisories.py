"""No locked version has a weakness that is known: held against a dated list that is kept beside this file."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name

Known = list[dict[str, Any]]


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / "advisories.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def lock(root: Path) -> str:
    return (root / "requirements.lock").read_text(encoding="utf-8")


def locked(lock: str) -> list[tuple[str, str]]:
    """Name and version of each package; one may be locked at several versions."""
    return [(canonicalize_name(name), version) for name, version in re.findall(r"(?m)^([\w.-]+)==([\w.]+)", lock)]


def weak(lock: str, known: Known) -> list[str]:
    """Each locked version that falls in a range, with what is known of it."""
    return [
        f"{name} {version}: {', '.join(one['ids'])}"
        for name, version in locked(lock)
        for one in known
        if one["package"] == name and SpecifierSet(one["affected"]).contains(version, prereleases=True)
    ]


def test_no_locked_version_has_a_known_weakness(told: dict[str, Any], lock: str) -> None:
    assert len(locked(lock)) > 100
    assert weak(lock, told["advisory"]) == []


def test_a_version_with_one_is_found(told: dict[str, Any]) -> None:
    old = "pillow==12.2.0 \\\n    --hash=sha256:0\nFlask==3.1.0\nclick==8.3.3\nurllib3==2.6.3 ; os_name == 'nt'\n"

    assert [line.partition(":")[0] for line in weak(old, told["advisory"])] == [
        "pillow 12.2.0", "flask 3.1.0", "flask 3.1.0", "urllib3 2.6.3",
    ]  # fmt: skip


def test_each_entry_is_about_a_locked_package_and_names_its_source(told: dict[str, Any], lock: str) -> None:
    names = {name for name, _version in locked(lock)}

    assert {one["package"] for one in told["advisory"]} - names == set()
    assert [one for one in told["advisory"] if not one["source"] or not one["ids"]] == []


def test_every_package_that_ships_was_looked_for(told: dict[str, Any], root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    ships = [*project["dependencies"], *project["optional-dependencies"]["postgres"]]
    looked_for = {one["package"] for one in told["advisory"]} | set(told["nothing_found"])

    assert {canonicalize_name(Requirement(text).name) for text in ships} - looked_for == set()

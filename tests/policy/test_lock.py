"""The lock file holds every dependency, hashed, and names no index."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name


def test_every_dependency_is_locked_at_a_version_that_fits(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    lock = (root / "requirements.lock").read_text(encoding="utf-8")
    locked: dict[str, list[str]] = {}
    for name, version in re.findall(r"^([\w.-]+)==([\w.]+)", lock, re.MULTILINE):
        locked.setdefault(canonicalize_name(name), []).append(version)

    unmet = [
        text
        for text in wanted
        if not (versions := locked.get(canonicalize_name(Requirement(text).name)))
        or not all(Requirement(text).specifier.contains(version) for version in versions)
    ]

    assert unmet == []


def test_every_locked_package_has_hashes_and_no_address(root: Path) -> None:
    lock = (root / "requirements.lock").read_text(encoding="utf-8")
    packages = re.split(r"\n(?=[a-z])", lock)

    assert [package.splitlines()[0] for package in packages if "--hash=sha256:" not in package] == []
    assert re.findall(r"https?:|--(?:extra-)?index|--find-links|(?:^|\s)/\w+", lock) == []

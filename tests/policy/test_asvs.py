"""The page on OWASP ASVS leaves no requirement of level 2 out, and names tests that exist."""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

#: Section → numbers of its requirements at levels 1 and 2, as in the table that the page names.
REQUIREMENTS = """
1.1 1-7; 1.2 1-4; 1.3; 1.4 1,4,5; 1.5 1-4; 1.6 1-4; 1.7 1-2; 1.8 1-2; 1.9 1-2; 1.10 1; 1.11 1-2; 1.12 2; 1.13;
1.14 1-6;
2.1 1-12; 2.2 1-3; 2.3 1-3; 2.4 1-6; 2.5 1-7; 2.6 1-3; 2.7 1-6; 2.8 1-7; 2.9 1-3; 2.10 1-4;
3.1 1; 3.2 1-4; 3.3 1-4; 3.4 1-5; 3.5 1-3; 3.6; 3.7 1; 4.1 1-3,5; 4.2 1-2; 4.3 1-3;
5.1 1-5; 5.2 1-8; 5.3 1-10; 5.4 1-3; 5.5 1-4; 6.1 1-3; 6.2 1-6; 6.3 1-2; 6.4 1-2;
7.1 1-4; 7.2 1-2; 7.3 1,3,4; 7.4 1-3; 8.1 1-4; 8.2 1-3; 8.3 1-8; 9.1 1-3; 9.2 1-4; 10.1; 10.2 1-2; 10.3 1-3;
11.1 1-8;
12.1 1-3; 12.2 1; 12.3 1-6; 12.4 1-2; 12.5 1-2; 12.6 1; 13.1 1,3-5; 13.2 1-3,5,6; 13.3 1-2; 13.4 1-2;
14.1 1-4; 14.2 1-6; 14.3 2-3; 14.4 1-7; 14.5 1-4
"""


@pytest.fixture(scope="module")
def page() -> str:
    return (Path(__file__).parent / "asvs.md").read_text(encoding="utf-8")


def numbers(text: str) -> list[int]:
    """“1, 3–5” as 1, 3, 4, 5."""
    found: list[int] = []
    for first, last in re.findall(r"(\d+)(?:\s*[-–]\s*(\d+))?", text):
        found += range(int(first), int(last or first) + 1)
    return found


def test_every_requirement_of_level_2_stands_in_one_column(page: str) -> None:
    wanted = {}
    for entry in REQUIREMENTS.split(";"):
        section, _space, rest = entry.strip().partition(" ")
        wanted[section] = numbers(rest)
    told = {}
    for row in re.findall(r"(?m)^\| V(\d+\.\d+) [^|]*\|([^|]*)\|([^|]*)\|([^|]*)\|", page):
        section, *columns = row
        told[section] = sorted(number for column in columns for number in numbers(column))

    assert told == wanted
    assert sum(map(len, told.values())) > 250


def test_every_test_that_it_names_exists_once(page: str, files: list[Path]) -> None:
    named = set(re.findall(r"`(test_\w+)`", page))
    known = Counter(
        node.name
        for file in files
        if file.suffix == ".py" and "tests" in file.parts
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
    )

    assert len(named) > 70
    assert {name: known[name] for name in named if known[name] != 1} == {}


def test_contributors_find_it(root: Path) -> None:
    assert "tests/policy/asvs.md" in (root / "DEVELOPERS.md").read_text(encoding="utf-8")

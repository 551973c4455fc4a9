"""Survival over the years as a picture."""

from __future__ import annotations

import re

import pytest

from nursery.documents.survival_chart import Curve, SurvivalWords, survival_svg

WORDS = SurvivalWords("Survival at Azenha", "Alive of the plants first planted", "Years after planting")
CURVES = [
    Curve("Quercus suber", [(1, 0.8, 0.63, 0.9), (3, 0.5, 0.33, 0.67)]),
    Curve("Fraxinus angustifolia", [(1, 1.0, 0.89, 1.0)]),
]


@pytest.fixture(scope="module")
def drawn() -> str:
    return survival_svg(CURVES, words=WORDS).decode()


def heights(svg: str, name: str) -> list[float]:
    path = re.search(rf'<g id="{name}">\s*<path d="([^"]+)"', svg)
    assert path
    return [float(pair.split()[1]) for pair in re.findall(r"[ML] ([\d.-]+ [\d.-]+)", path[1])]


def test_a_line_falls_as_its_numbers_do(drawn: str) -> None:
    top, first, third = heights(drawn, "curve-0")

    # Down the page is down in numbers: from 100 % to 80 % and 50 %.
    assert (third - top) / (first - top) == pytest.approx(0.5 / 0.2, rel=1e-3)
    assert heights(drawn, "curve-1")[1] == pytest.approx(top)


def test_every_survey_has_its_mark_and_words_are_there(drawn: str) -> None:
    assert all(f'id="survey-{name}"' in drawn for name in ("0-1", "0-3", "1-1"))
    assert 'id="survey-1-3"' not in drawn
    assert all(word in drawn for word in ("Quercus suber", "Years after planting", "Alive of the plants"))
    assert re.findall(r'(?:href|src)="(?!#)', drawn) == []


def test_a_phone_gets_a_narrow_one_and_more_species_a_higher_one(drawn: str) -> None:
    assert 'width="400"' in survival_svg(CURVES, words=WORDS, narrow=True).decode()
    many = survival_svg([Curve(f"Species {number}", [(1, 0.5, 0.4, 0.6)]) for number in range(12)], words=WORDS)
    height = re.search(r' height="(\d+)"', many.decode())
    own = re.search(r' height="(\d+)"', drawn)
    assert height
    assert own
    assert int(height[1]) > int(own[1])
    assert b'id="curve-11"' in many

"""What a calculator says of itself: its question, an example that works, and how an input is understood."""

from __future__ import annotations

from typing import Any

import pytest

from nursery.errors import Invalid
from nursery.services.calculators import CALCULATORS, calculate, find_calculator


@pytest.mark.parametrize("name", CALCULATORS)
def test_the_example_gives_every_result(name: str) -> None:
    calculator = find_calculator(name)

    assert list(calculate(name, calculator.example)) == [one.name for one in calculator.results]
    assert calculator.describe()["example"] == calculator.example
    assert str(calculator.question).endswith("?")


@pytest.mark.parametrize("name", CALCULATORS)
def test_what_is_understood_is_an_input_for_the_same_result(name: str) -> None:
    calculator = find_calculator(name)
    understood = calculator.understand(calculator.example)

    assert list(understood) == [field.name for field in calculator.fields]
    assert calculate(name, understood) == calculate(name, calculator.example)


def test_text_is_understood_as_values_and_blanks_as_defaults() -> None:
    understood = find_calculator("mothers").understand({"weights": "1,5; 2", "kind": "SEED", "sexes": "m Female"})

    assert understood == {"weights": [1.5, 2.0], "kind": "seed", "sexes": ["male", "female"]}


def test_a_table_among_the_results_names_its_columns() -> None:
    phases = find_calculator("schedule").describe()["results"][0]

    assert [column["name"] for column in phases["columns"]] == ["name", "start", "end", "wait_days"]
    assert list(calculate("schedule", find_calculator("schedule").example)["phases"][0]) == [
        column["name"] for column in phases["columns"]
    ]


@pytest.mark.parametrize("sexes", [["m", "F"], ["M", "f"], ["male", "female"], ["MALE", " Female "], "m f"])
def test_sexes_are_letters_or_words_in_small_or_capital_letters(sexes: Any) -> None:
    found = calculate("mothers", {"weights": [1, 1], "kind": "clone", "sexes": sexes})

    assert found["status_number_low"] == 2.0  # 4 × 1 × 1 ÷ 2


@pytest.mark.parametrize("sex", ["x", "", "mf", 1, None])
def test_no_other_word_is_a_sex(sex: Any) -> None:
    with pytest.raises(Invalid, match="Number 2"):
        calculate("mothers", {"weights": [1, 1], "kind": "clone", "sexes": ["m", sex]})

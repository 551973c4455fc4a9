"""Answers that are kept: the latest, and no more than were asked for."""

from __future__ import annotations

import pytest

from nursery.memory import Memory


def test_an_answer_is_worked_out_once() -> None:
    memory, asked = Memory(10), list[int]()

    def answer() -> str:
        asked.append(1)
        return "forty-two"

    assert [memory.get("question", answer) for _time in range(3)] == ["forty-two"] * 3
    assert asked == [1]


def test_nothing_is_an_answer_too() -> None:
    memory = Memory(10)

    assert memory.get("question", lambda: None) is None
    assert memory.get("question", lambda: "another") is None


def test_what_was_not_asked_for_longest_is_forgotten_first() -> None:
    memory = Memory(3)
    for number in (1, 2, 3, 1, 4):
        memory.get(number, lambda number=number: f"first {number}")

    again = {number: memory.get(number, lambda number=number: f"again {number}") for number in (1, 3, 4)}

    assert again == {1: "first 1", 3: "first 3", 4: "first 4"}
    assert memory.get(2, lambda: "again 2") == "again 2"
    assert len(memory) == 3


def test_an_answer_that_fails_is_not_kept() -> None:
    memory = Memory(3)
    with pytest.raises(ZeroDivisionError):
        memory.get("question", lambda: 1 // 0)

    assert memory.get("question", lambda: 7) == 7

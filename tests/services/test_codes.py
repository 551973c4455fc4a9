"""Codes: every slip of the pen is caught, and running numbers run on."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Lot, Population
from nursery.services import codes

NAMES = ("Quercus suber", "Salix salviifolia", "Arbutus unedo", "Ilex aquifolium", "Olea europaea var. sylvestris")
lot_codes = st.builds(
    codes.lot_code, st.sampled_from(NAMES), st.integers(1990, 2100), st.integers(0, codes.SERIALS - 1)
)


def test_the_alphabet_keeps_at_most_one_of_each_group_of_look_alikes() -> None:
    groups = ("0ODQ", "1ILJ", "2Z", "5S", "6G", "8B", "UV")

    kept = [[c for c in group if c in codes.ALPHABET] for group in groups]

    assert [len(group) for group in kept] == [1, 1, 1, 0, 1, 0, 1]
    assert len(codes.ALPHABET) == len(set(codes.ALPHABET)) == 23
    assert not set("01OIL5S") & set(codes.ALPHABET)


def test_a_lot_code_worked_by_hand() -> None:
    # Q = 16, U = 19, U = 19, E = 8; 2026 modulo 23 = 2, written 4; serial 1 = 0 0 1, written 223.
    # Doubling and adding modulo 23: 16, 5, 6, 20, 19, 15, 7, 15; the check is 1 − 2·15 = −29 ≡ 17, written R.
    assert codes.lot_code("Quercus suber", 2026, 1) == "QUUE-4223-R"


@given(lot_codes)
def test_every_code_given_out_is_sound(code: str) -> None:
    assert codes.is_sound(code.replace("-", ""))
    assert codes.check_lot_code(code) == code


@given(lot_codes, st.data())
def test_every_single_wrong_character_is_refused(code: str, data: st.DataObject) -> None:
    places = [index for index, character in enumerate(code) if character != "-"]
    place = data.draw(st.sampled_from(places))
    other = data.draw(st.sampled_from([c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789" if c != code[place]]))

    with pytest.raises(Invalid):
        codes.check_lot_code(code[:place] + other + code[place + 1 :])


@given(lot_codes)
def test_every_swap_of_two_neighbours_is_refused(code: str) -> None:
    bare = code.replace("-", "")
    for place in range(8):
        swapped = bare[:place] + bare[place + 1] + bare[place] + bare[place + 2 :]
        assert codes.is_sound(swapped) == (bare[place] == bare[place + 1])


@given(lot_codes)
def test_a_code_may_be_typed_small_and_without_hyphens(code: str) -> None:
    assert codes.check_lot_code(code.replace("-", " ").lower()) == code
    assert codes.check_lot_code(f" {code.replace('-', '')} ") == code


def test_a_wrong_check_character_is_told_with_the_remedy() -> None:
    with pytest.raises(Invalid) as refused:
        codes.check_lot_code("QUUE-4223-X")

    assert refused.value.errors == {
        "code": "The check character of “QUUE-4223-X” does not fit, so one character is wrong or two are swapped."
        " Look at the label again, or leave the code empty to get a new one."
    }


@pytest.mark.parametrize(
    ("own", "kept"), [("2024/17", "2024/17"), (" b-12 ", "B-12"), ("lot 2024 001", "LOT 2024 001")]
)
def test_codes_of_ones_own_are_kept(own: str, kept: str) -> None:
    assert codes.check_lot_code(own) == kept


@pytest.mark.parametrize("nonsense", ["-", "=1+1", "x" * 30, "<b>", "çã-1", ""])
def test_what_cannot_be_a_code_is_refused(nonsense: str) -> None:
    with pytest.raises(Invalid):
        codes.check_lot_code(nonsense)


def test_lot_codes_run_on_after_the_highest_even_in_the_bin(session: Session, maker: Any) -> None:
    first = codes.next_lot_code(session, Lot.code, "Quercus suber", 2026)
    maker.lot(code=codes.lot_code("Quercus suber", 2026, 22))
    maker.lot(code="QUUE-4YYY-Y")  # not sound, so none of ours

    assert first == codes.lot_code("Quercus suber", 2026, 1)
    assert codes.next_lot_code(session, Lot.code, "Quercus suber", 2026) == codes.lot_code(
        "Quercus suber", 2026, 23
    )
    assert codes.next_lot_code(session, Lot.code, "Quercus suber", 2025) == codes.lot_code(
        "Quercus suber", 2025, 1
    )


def test_when_all_codes_are_given_out_it_says_so(session: Session, maker: Any) -> None:
    maker.lot(code=codes.lot_code("Quercus suber", 2026, codes.SERIALS - 1))

    with pytest.raises(Invalid, match="given out"):
        codes.next_lot_code(session, Lot.code, "Quercus suber", 2026)


def test_running_codes_pass_the_thousand(session: Session, maker: Any) -> None:
    assert codes.next_code(session, Population.code, "P-") == "P-001"
    maker.population(code="P-999")
    maker.population(code="P-1000")
    maker.population(code="P-north")

    assert codes.next_code(session, Population.code, "P-") == "P-1001"

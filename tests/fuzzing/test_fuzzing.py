"""A short run of the trials; `python -m tests.fuzzing --tries 20000` is the long one."""

from __future__ import annotations

from pathlib import Path

from tests.databases import Kept
from tests.fuzzing.files import hard_cases, sound_files
from tests.fuzzing.tally import Tally
from tests.fuzzing.trying import try_all
from tests.fuzzing.world import world

TRIES = 300


def test_no_form_file_or_call_of_the_api_is_our_fault(demo_file: Kept, tmp_path: Path) -> None:
    tally = Tally()
    with world(demo_file, tmp_path) as made:
        try_all(made, tally, tries=TRIES, start=2026)

    assert tally.faults == {}
    assert tally.answers_of(500) == 0
    assert tally.tries > TRIES
    assert {kind for kind, _route, _status in tally.answers} == {"pages", "forms", "files", "api"}


def test_a_fault_of_ours_is_told_with_its_place() -> None:
    tally = Tally()
    tally.note_fault("forms", "lots.new", KeyError("code"), {"code": "\0"})

    assert tally.answers_of(500) == 1
    assert tally.faults == {"KeyError at outside: 'code'": "lots.new {'code': '\\x00'}"}
    assert "1 tries, 1 routes, 1 answers of 500" in tally.lines()


def test_the_broken_files_are_many_and_unlike() -> None:
    assert len({hash(one) for one in [*hard_cases(), *sound_files()]}) > 80

"""``nursery calc``: one JSON object out, whatever goes in."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from nursery.services.calculators import CALCULATORS, calculate
from tests.services.calculators.inputs import GOOD

Run = Callable[..., Result]


def test_every_calculator_answers_as_the_service_does(run: Run) -> None:
    for name in CALCULATORS:
        result = run("calc", name, "--input", "-", input=json.dumps(GOOD[name]))

        assert result.exit_code == 0
        assert json.loads(result.stdout) == calculate(name, GOOD[name])
        assert result.stderr == ""


def test_input_can_be_a_file_with_a_byte_order_mark(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "survival.json"
    file.write_bytes(b"\xef\xbb\xbf" + json.dumps(GOOD["survival"]).encode())

    result = run("calc", "survival", "--input", str(file))

    assert json.loads(result.stdout) == calculate("survival", GOOD["survival"])


@pytest.mark.parametrize(
    ("words", "given", "field"),
    [
        (["survival", "--input", "-"], '{"alive": 11, "planted": 10}', "alive"),
        (["survival", "--input", "-"], "{bad", "input"),
        (["survival", "--input", "-"], "", "input"),
        (["survival", "--input", "-"], "[1]", "input"),
        (["survival", "--input", "-"], "[" * 100_000, "input"),
        (["survival", "--input", "-"], " " * 2_000_001, "input"),
        (["survival", "--input", "no such file"], "", "input"),
        (["survival", "--input", "."], "", "input"),
        (["survivle", "--input", "-"], "{}", "calculator"),
        (["survival"], "", "input"),
        (["--input", "-"], "", "calculator"),
        (["survival", "--input", "-", "--fast"], "", "command"),
        (["survival", "twice", "--input", "-"], "{}", "command"),
    ],
)
def test_every_refusal_is_one_json_object_and_exit_2(run: Run, words: list[str], given: str, field: str) -> None:
    result = run("calc", *words, input=given)

    assert result.exit_code == 2
    errors = json.loads(result.stdout)
    assert list(errors) == ["errors"]
    assert list(errors["errors"]) == [field]
    assert errors["errors"][field]
    assert result.stderr == ""


def test_text_that_is_not_utf8_is_refused(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "latin.json"
    file.write_bytes('{"alive": "é"}'.encode("latin-1"))

    result = run("calc", "survival", "--input", str(file))

    assert (result.exit_code, list(json.loads(result.stdout)["errors"])) == (2, ["input"])


def test_as_its_own_process_it_prints_nothing_else() -> None:
    command = [sys.executable, "-c", "from nursery.cli import main; main()", "calc", "storage", "--input", "-"]

    good = subprocess.run(command, input=json.dumps(GOOD["storage"]).encode(), capture_output=True, check=False)
    bad = subprocess.run(command, input=b"{}", capture_output=True, check=False)

    assert (good.returncode, json.loads(good.stdout), good.stderr) == (
        0,
        calculate("storage", GOOD["storage"]),
        b"",
    )
    assert (bad.returncode, list(json.loads(bad.stdout)), bad.stderr) == (2, ["errors"], b"")

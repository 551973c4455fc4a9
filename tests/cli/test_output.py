"""Standard output carries the answer of a command and nothing else."""

from __future__ import annotations

import subprocess
import sys

#: A command in whose course C code prints, at once and held back until the process ends.
SCRIPT = """
import ctypes, os, sys
import click
from nursery.cli.group import LazyGroup

@click.command()
def prints():
    os.write(1, b"at once\\n")
    ctypes.CDLL(None).printf(b"held back\\n")
    with open(os.devnull) as file:
        click.echo(f"the answer, ação, {file.fileno() > 2}")
    print("more of it")

LazyGroup("nursery", commands={"prints": prints}, commands_at={})(["prints"])
"""


def command(shell: str = '"$@"') -> subprocess.CompletedProcess[str]:
    words = ["sh", "-c", shell, "sh", sys.executable, "-W", "error", "-c", SCRIPT]
    return subprocess.run(words, check=False, capture_output=True, encoding="utf-8")


def test_what_c_code_prints_during_a_command_goes_to_standard_error() -> None:
    answer = command()

    assert answer.stdout == "the answer, ação, True\nmore of it\n"
    assert answer.stderr == "at once\nheld back\n"
    assert answer.returncode == 0


def test_a_closed_standard_output_gives_its_number_to_no_file() -> None:
    answer = command('"$@" >&-')

    assert answer.stdout == ""
    assert answer.stderr == "at once\nheld back\n"
    assert answer.returncode == 0


def test_a_closed_standard_error_lets_nothing_into_the_answer() -> None:
    answer = command('"$@" 2>&-')

    assert answer.stdout == "the answer, ação, True\nmore of it\n"
    assert answer.stderr == ""
    assert answer.returncode == 0


def test_a_reader_who_leaves_early_is_no_mishap() -> None:
    answer = command('"$@" | true')

    assert (answer.stdout, answer.returncode) == ("", 0)
    assert "Traceback" not in answer.stderr
    assert "Exception" not in answer.stderr

"""Lint, format and types, as a contributor runs them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

CHECKS = {
    "lint": ("ruff", "check", "--no-cache", "."),
    "format": ("ruff", "format", "--no-cache", "--check", "."),
    "types": ("mypy", "--no-error-summary"),
}


@pytest.mark.parametrize("name", CHECKS)
def test_the_code_passes(name: str, root: Path) -> None:
    tool, *options = CHECKS[name]
    command = [str(Path(sys.executable).with_name(tool)), *options]
    answer = subprocess.run(command, check=False, cwd=root, capture_output=True, text=True)

    assert answer.returncode == 0, answer.stdout + answer.stderr

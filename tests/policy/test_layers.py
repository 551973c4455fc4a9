"""Imports point down, and planning stays pure when it runs."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

FOREIGN = (
    "flask",
    "sqlalchemy",
    "wtforms",
    "flask_wtf",
    "babel",
    "alembic",
    "matplotlib",
    "click",
    "nursery.i18n",
)


def test_imports_point_down(root: Path) -> None:
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    answer = subprocess.run(command, check=False, cwd=root, capture_output=True, text=True)

    assert answer.returncode == 0, answer.stdout + answer.stderr


def test_planning_loads_no_web_database_or_translation_code(root: Path) -> None:
    script = (
        "import importlib, json, pkgutil, sys, nursery.planning as p\n"
        "for module in pkgutil.walk_packages(p.__path__, 'nursery.planning.'):\n"
        "    importlib.import_module(module.name)\n"
        f"print(json.dumps([name for name in {FOREIGN!r} if name in sys.modules]))"
    )
    answer = subprocess.run([sys.executable, "-c", script], cwd=root, capture_output=True, text=True, check=True)

    assert json.loads(answer.stdout) == []

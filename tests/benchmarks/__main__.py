"""Run all benchmarks, ``python -m tests.benchmarks``, or those that are named behind it."""

from __future__ import annotations

import datetime as dt
import platform
import sys
from importlib import import_module

NAMES = (
    "spreadsheet", "allocation", "trace", "levelling", "season_report", "pages", "importing", "start_up",
)  # fmt: skip


def main(asked: list[str]) -> None:
    print(f"{dt.datetime.now().astimezone():%Y-%m-%d}, Python {platform.python_version()}, {platform.machine()}")
    for name in asked or NAMES:
        import_module(f"tests.benchmarks.{name}").run()


main(sys.argv[1:])

"""Run all benchmarks: ``python -m tests.benchmarks``."""

from __future__ import annotations

import datetime as dt
import platform

from tests.benchmarks import allocation, levelling, season_report, spreadsheet, trace


def main() -> None:
    print(f"{dt.datetime.now().astimezone():%Y-%m-%d}, Python {platform.python_version()}, {platform.machine()}")
    spreadsheet.run()
    allocation.run()
    trace.run()
    levelling.run()
    season_report.run()


main()

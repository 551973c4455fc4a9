"""`python -m tests.fuzzing --tries 20000`: bad input by the thousand, counted by route and status."""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzzing.running import make_season, run
from tests.fuzzing.tally import Tally


def main() -> int:
    """Try, print, and fail where any answer was our fault."""
    asked = argparse.ArgumentParser(prog="python -m tests.fuzzing", description=__doc__)
    asked.add_argument("--tries", type=int, default=20_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--season", type=Path, help="a folder in which the demo season is kept for the next time")
    given = asked.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        season = given.season or Path(folder)
        make_season(season)
        share = -(-given.tries // given.jobs)
        work = [(season, share, given.seed + 1_000_000 * job) for job in range(given.jobs)]
        tally = Tally()
        with multiprocessing.get_context("spawn").Pool(given.jobs) as pool:
            for found in pool.imap_unordered(run, work):
                tally.add(found)
    print("\n".join(tally.lines()))
    print(f"{time.monotonic() - began:.0f} s, {given.jobs} processes, seed {given.seed}")
    return 1 if tally.faults or tally.answers_of(500) else 0


if __name__ == "__main__":
    sys.exit(main())

"""Standard output belongs to what a command answers, and to nothing that a library prints from its inside."""

from __future__ import annotations

import io
import os
import sys


def keep_output_clean() -> None:
    """Give Python's standard output a door of its own and send what C code prints to standard error.

    The solver of the allocation prints from C++ in rare cases; a program that reads ``nursery plan --json`` would
    choke on it. The doors stay so until the process ends, because C holds back what it prints and lets go of it
    only then. Where standard output is no real one (a test's buffer), nothing is touched.
    """
    if sys.stdout is not None and _number(sys.stdout) != 1:
        return
    _fill_closed_doors()
    if sys.stdout is not None:
        sys.stdout.flush()
        sys.stdout = open(  # noqa: SIM115 -- stays open until the process ends
            os.dup(1),
            "w",
            encoding=sys.stdout.encoding,
            errors=sys.stdout.errors,
            buffering=1 if sys.stdout.isatty() else -1,
            closefd=False,
        )
    os.dup2(2, 1)


def _number(stream: object) -> int | None:
    """Number of the stream's file; none where there is no file behind it."""
    try:
        return int(stream.fileno())  # type: ignore[attr-defined]
    except (AttributeError, io.UnsupportedOperation, ValueError):
        return None


def _fill_closed_doors() -> None:
    """Put nothing where a stream is closed: else the next file opened, a database perhaps, takes its place."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(number, True)
    os.close(number)

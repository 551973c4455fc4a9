"""A PostgreSQL server that writes to the disk before it acknowledges, to be killed and started again."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from sqlalchemy import Engine, text

from tests.postgres import PORT, find_server, unprivileged


class Cluster:
    """One server in a folder of its own; its first process is a child of ours, which can be waited for."""

    def __init__(self, folder: Path) -> None:
        programs = find_server()
        assert programs is not None, "PostgreSQL is not installed"
        self.programs, self.folder, self.owner = programs, folder, unprivileged(folder)
        self.address = f"postgresql+psycopg://nursery@/postgres?host={folder}&port={PORT}"
        self.process: subprocess.Popen[bytes] | None = None
        # With sums over its pages, so that a torn one would be told.
        with self._log() as log:
            command = self._command(
                "initdb", "-U", "nursery", "-A", "trust", "-E", "UTF8", "--data-checksums", "--no-sync"
            )
            subprocess.run(command, check=True, user=self.owner, cwd=folder, stdout=log)

    def start(self) -> None:
        """Start it, through its recovery if it has any to do."""
        with self._log() as log:
            self.process = subprocess.Popen(
                self._command(
                    "postgres", "-h", "", "-k", str(self.folder), "-p", str(PORT), "-c", "fsync=on",
                    "-c", "synchronous_commit=on",
                ),
                user=self.owner, cwd=self.folder, stdout=log, stderr=log,
            )  # fmt: skip
        ready = [str(self.programs / "pg_isready"), "-q", "-h", str(self.folder), "-p", str(PORT)]
        while subprocess.run(ready, check=False).returncode:
            assert self.process.poll() is None, self.told()
            time.sleep(0.02)

    def stop(self, how: signal.Signals = signal.SIGINT) -> None:
        """End all connections and close up; by SIGQUIT everything is left to the recovery."""
        assert self.process is not None
        self.process.send_signal(how)
        self.process.wait()
        self.process = None

    def kill(self) -> None:
        """All of its processes at once, as a power cut ends them."""
        assert self.process is not None
        first = self.process.pid
        children = Path(f"/proc/{first}/task/{first}/children").read_text(encoding="ascii").split()
        for number in [first, *map(int, children)]:
            with suppress(ProcessLookupError):  # a backend may have ended by itself
                os.kill(number, signal.SIGKILL)
        self.process.wait()
        self.process = None

    def told(self) -> str:
        """What the server wrote down."""
        return (self.folder / "log").read_text(encoding="utf-8")

    def _log(self) -> IO[str]:
        return (self.folder / "log").open("a", encoding="utf-8")

    def _command(self, program: str, *arguments: str) -> list[str]:
        return [str(self.programs / program), "-D", str(self.folder / "data"), *arguments]


@contextmanager
def cluster() -> Iterator[Cluster]:
    """A server that runs, and is gone with the block."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    own = Cluster(folder)
    own.start()
    try:
        yield own
    finally:
        if own.process is not None:
            own.stop(signal.SIGQUIT)
        shutil.rmtree(folder)


def await_others(engine: Engine) -> None:
    """Wait until the server has noticed that everybody else is gone: what the dead sent may still be written."""
    others = text(
        "SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()"
    )
    deadline = time.monotonic() + 60
    while True:
        with engine.connect() as connection:
            if not connection.scalar(others):
                return
        assert time.monotonic() < deadline, "the server kept the connections of a dead client for a minute"
        time.sleep(0.01)

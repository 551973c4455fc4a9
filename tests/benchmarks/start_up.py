"""From nothing to the first page, by the clock: a new process of ``nursery serve`` on an existing database."""

from __future__ import annotations

import http.client
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

GOAL = 1.5


def run() -> None:
    """Print the seconds until the first answer, the least of three, beside those to load two libraries."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "NURSERY_DATA_DIR": folder}
        environment.pop("NURSERY_DATABASE_URL", None)
        make = [sys.executable, "-m", "nursery", "account", "add", "Ana Seabra", "ana@tests.example"]
        subprocess.run(make, env=environment, check=True, capture_output=True)
        took = min(_until_answered(environment) for _time in range(3))
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import flask, sqlalchemy.orm"], check=True, cwd=Path(folder))
        least = time.perf_counter() - began
    print(
        f"start-up: the first page after {took:.2f} s (goal {GOAL} s), {took / least:.1f} × what it takes to load"
        " Flask and SQLAlchemy alone"
    )


def _until_answered(environment: dict[str, str]) -> float:
    began = time.perf_counter()
    command = [sys.executable, "-m", "nursery", "serve", "--port", "0"]
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        port = next(int(found[1]) for line in server.stdout if (found := re.search(r"127\.0\.0\.1:(\d+)/", line)))
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        connection.request("GET", "/sign-in")
        assert connection.getresponse().status == 200
        took = time.perf_counter() - began
        connection.close()
        server.terminate()
    return took

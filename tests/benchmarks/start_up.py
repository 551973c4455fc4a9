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
from statistics import median

GOAL = 1.5


def run() -> None:
    """Print the seconds until the first answer, beside those to load two libraries, the least of several.

    Modules are compiled, as they are after installing; the first start of all compiles them and is told apart.
    """
    with tempfile.TemporaryDirectory() as folder:
        environment = {
            **os.environ,
            "NURSERY_DATA_DIR": folder,
            "PYTHONPYCACHEPREFIX": str(Path(folder) / "compiled"),
            "PYTHONPATH": os.pathsep.join([str(Path.cwd()), os.environ.get("PYTHONPATH", "")]),
        }
        for unwanted in ("NURSERY_DATABASE_URL", "PYTHONDONTWRITEBYTECODE"):
            environment.pop(unwanted, None)
        make = [sys.executable, "-m", "nursery", "account", "add", "Ana Seabra", "ana@tests.example"]
        subprocess.run(make, env=environment, check=True, capture_output=True)
        first = _until_answered(environment)
        took = [_until_answered(environment) for _time in range(5)]
        least = [_to_load("import flask, sqlalchemy.orm", environment) for _time in range(5)]
    print(
        f"start-up: the first page after {min(took):.2f} s (goal {GOAL} s; {median(took):.2f} s in the middle), "
        f"{min(took) / min(least):.1f} × what it takes to load Flask and SQLAlchemy alone; {first:.2f} s the very "
        "first time, when all modules are compiled"
    )


def _to_load(what: str, environment: dict[str, str]) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", what], check=True, env=environment)
    return time.perf_counter() - began


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

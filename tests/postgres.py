"""A PostgreSQL server of the tests' own: Debian's, in a temporary folder, reached only through a socket there."""

from __future__ import annotations

import fcntl
import importlib.util
import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PORT = 5433
_SHARED = "NURSERY_TEST_SERVER"


def find_server() -> Path | None:
    """Folder of the newest installed server's programs."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda file: int(file.parts[-3]))
    return found[-1].parent if found else None


def has_postgres() -> bool:
    """Whether a server and its driver (the extra ``postgres``) are installed."""
    return find_server() is not None and importlib.util.find_spec("psycopg") is not None


@contextmanager
def running_postgres() -> Iterator[str]:
    """Address of an empty database on a server that stops with the block."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    try:
        yield start_server(folder)
    finally:
        stop_server(folder)


def start_server(folder: Path) -> str:
    """Start a server of its own in an empty folder; the address of its first database."""
    owner = unprivileged(folder)
    _run(owner, folder, "initdb", "-U", "nursery", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = (
        f"-c listen_addresses='' -c unix_socket_directories={folder} -c port={PORT} -c fsync=off"
        " -c full_page_writes=off -c autovacuum=off -c max_connections=200"
    )
    _run(owner, folder, "pg_ctl", "-w", "-t", "300", "-l", str(folder / "log"), "-o", options, "start")
    return _address(folder)


def stop_server(folder: Path) -> None:
    """Stop a server and take its folder away."""
    _run(unprivileged(folder), folder, "pg_ctl", "-m", "immediate", "stop")
    shutil.rmtree(folder)


def promise_server() -> None:
    """Say where the server of all workers will be, before there are workers; who first needs it starts it."""
    os.environ[_SHARED] = str(Path(tempfile.gettempdir()) / f"pg{uuid.uuid4().hex[:12]}")


def shared_server() -> str:
    """Address of the server that all workers share."""
    folder = Path(os.environ[_SHARED])
    with Path(f"{folder}.lock").open("w", encoding="ascii") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            folder.mkdir(mode=0o700)
            start_server(folder)
    return _address(folder)


def withdraw_server() -> None:
    """Stop the shared server, if anybody started it."""
    folder = Path(os.environ.pop(_SHARED))
    Path(f"{folder}.lock").unlink(missing_ok=True)
    if folder.exists():
        stop_server(folder)


def _address(folder: Path) -> str:
    return f"postgresql+psycopg://nursery@/postgres?host={folder}&port={PORT}"


def _run(owner: int, folder: Path, program: str, *arguments: str) -> None:
    programs = find_server()
    assert programs is not None, "PostgreSQL is not installed"
    command = [str(programs / program), "-D", str(folder / "data"), *arguments]
    subprocess.run(command, check=True, user=owner, cwd=folder, stdout=subprocess.DEVNULL)


def unprivileged(folder: Path) -> int:
    """The server does not run as root; there it runs as the user its package made."""
    if os.geteuid() != 0:
        return os.geteuid()
    user = pwd.getpwnam("postgres")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return user.pw_uid

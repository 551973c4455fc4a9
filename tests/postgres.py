"""A PostgreSQL server of the tests' own: Debian's, in a temporary folder, reached only through a socket there."""

from __future__ import annotations

import importlib.util
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PORT = 5433


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
    programs = find_server()
    assert programs is not None, "PostgreSQL is not installed"
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    owner = _unprivileged(folder)

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [str(programs / program), *arguments], check=True, user=owner, cwd=folder, stdout=subprocess.DEVNULL
        )

    data = str(folder / "data")
    run("initdb", "-D", data, "-U", "nursery", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c port={PORT} -c fsync=off"
    run("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", options, "start")
    try:
        yield f"postgresql+psycopg://nursery@/postgres?host={folder}&port={PORT}"
    finally:
        run("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder)


def _unprivileged(folder: Path) -> int:
    """The server does not run as root; there it runs as the user its package made."""
    if os.geteuid() != 0:
        return os.geteuid()
    user = pwd.getpwnam("postgres")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return user.pw_uid

"""A server in a process of its own, to be killed; and somebody who fills its forms over the network."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode, urlsplit

#: Signs the cookies, so that a session outlives its server.
SECRET = "a secret for tests only, of more than 32 characters"


def start(address: str, folder: Path) -> tuple[subprocess.Popen[str], int]:
    """The pages of the database at ``address``, served as by ``nursery serve``; the process and its port."""
    with (folder / "server.log").open("a", encoding="utf-8") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.serving", address, str(folder)],
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join([str(Path.cwd()), *sys.path])},
        )
    assert server.stdout is not None
    told = server.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:(\d+)/", told)
    assert found, told + (folder / "server.log").read_text(encoding="utf-8")
    return server, int(found[1])


def kill(server: subprocess.Popen[str]) -> None:
    """End it as a power cut ends a program: it has no say in it."""
    server.send_signal(signal.SIGKILL)
    server.wait()
    assert server.stdout is not None
    server.stdout.close()


@contextmanager
def serving(address: str, folder: Path) -> Iterator[int]:
    """The port of a server that is killed at the end of the block."""
    server, port = start(address, folder)
    try:
        yield port
    finally:
        kill(server)


class Client:
    """Somebody with a browser: one connection, one session, the token of its forms."""

    def __init__(self) -> None:
        self.cookies: dict[str, str] = {}
        self.token = ""
        self.connection = http.client.HTTPConnection("127.0.0.1", timeout=30)

    def meet(self, port: int, page: str) -> None:
        """Connect, and take the token of a page's form if there is none yet; it outlives the server."""
        self.connection.close()
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        if not self.token:
            _status, text = self.get(page)
            found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', text)
            assert found, text[:2000]
            self.token = found[1]

    def get(self, path: str) -> tuple[int, str]:
        """Status and text of a page."""
        self.connection.request("GET", path, headers=self._headers())
        status, text, _goes_on = self._answer()
        return status, text

    def send(self, path: str, typed: dict[str, str]) -> tuple[int, str]:
        """Status and text of the answer to a form; 303 says that it was saved."""
        headers = {**self._headers(), "Content-Type": "application/x-www-form-urlencoded"}
        self.connection.request("POST", path, urlencode({"csrf_token": self.token, **typed}), headers)
        status, text, goes_on = self._answer()
        assert "/sign-in" not in goes_on, "whoever sends is not signed in"
        return status, text

    def _headers(self) -> dict[str, str]:
        return {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}

    def _answer(self) -> tuple[int, str, str]:
        answer = self.connection.getresponse()
        text = answer.read().decode()
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, _sign, value = cookie.split(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, text, answer.headers.get("Location", "")


def main(address: str, folder: str) -> None:
    """What the process does."""
    from nursery.cli.serving import serve_pages
    from nursery.config import Settings

    assert urlsplit(address).scheme
    serve_pages(Settings(database_url=address, data_dir=Path(folder), secret_key=SECRET), 0)


if __name__ == "__main__":
    main(*sys.argv[1:])

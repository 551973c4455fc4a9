"""Applications are lent to tests: to build one takes longer than most tests do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from flask import Flask
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket

from nursery.app import configure, create_app
from nursery.config import Settings
from tests.signing_in import SignedIn


class _Compiled(BytecodeCache):
    """Templates are compiled once for all applications of a process."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self.kept:
            bucket.bytecode_from_string(self.kept[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.kept[bucket.key] = bucket.bytecode_to_string()


@dataclass(frozen=True)
class _Built:
    """An application, and what it was built with."""

    app: Flask
    config: dict[str, Any]
    extensions: dict[str, Any]


_compiled = _Compiled()
_free: list[_Built] = []


def _build(settings: Settings) -> _Built:
    app = create_app(settings)
    app.extensions["nursery_sessions"].kw["bind"].dispose()
    app.jinja_env.bytecode_cache = _compiled
    return _Built(app, dict(app.config), dict(app.extensions))


@contextmanager
def lent(settings: Settings, *, today: dt.date | None = None, testing: bool = True) -> Iterator[Flask]:
    """An application as `create_app` makes it, for as long as the block lasts.

    What tests do to its configuration and its extensions does not outlive them. One that a test hangs more pages
    on must be built for it.
    """
    built = _free.pop() if _free else _build(settings)
    app = built.app
    app.config.clear()
    app.config.update(built.config)
    app.extensions.clear()
    app.extensions.update(built.extensions)
    app.test_client_class = SignedIn
    configure(app, settings, today=today, testing=testing)
    try:
        yield app
    finally:
        app.extensions["nursery_sessions"].kw["bind"].dispose()
        _free.append(built)

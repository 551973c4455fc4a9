"""What an application works out once for many requests: addresses, and pieces that all pages of a kind share.

What is kept here depends on nothing but its key: no record, no account, no day. What the records say is remembered
by `nursery.services.remembering`.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import TypeVar

from flask import Flask, current_app

from nursery.memory import Memory

T = TypeVar("T")
_KEY = "nursery_once"
#: Addresses of records come by the hundred in a list of somebody who may not do everything.
_SIZE = 4096


def register(app: Flask) -> None:
    """Give the application its memory."""
    app.extensions[_KEY] = Memory(_SIZE)


def once(key: Hashable, make: Callable[[], T]) -> T:
    """What ``make`` gave for this key, or gives now."""
    memory: Memory = current_app.extensions[_KEY]
    return memory.get(key, make)

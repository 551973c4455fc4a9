"""Answers that were asked for lately, kept so that they need not be worked out again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar, cast

T = TypeVar("T")


class Memory:
    """The latest ``size`` answers, shared by threads; the one not asked for longest is forgotten first.

    Two threads may work out the same answer at once, so keys must say all that it depends on.
    """

    def __init__(self, size: int) -> None:
        self.size = size
        self._kept: dict[Hashable, Any] = {}
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """The answer that is kept, or else the one that ``make`` gives."""
        with self._lock:
            if key in self._kept:
                found = self._kept[key] = self._kept.pop(key)
                return cast("T", found)
        made = make()
        with self._lock:
            self._kept[key] = made
            if len(self._kept) > self.size:
                del self._kept[next(iter(self._kept))]
        return made

"""What the collector of garbage does while the product starts: nothing."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collecting() -> Iterator[None]:
    """Make many objects that stay, as loading modules does, without looking through all of them again and again.

    What was made is not looked through later either, when requests are answered.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
            gc.freeze()

"""Modules that take long to load, loaded when something of them is first used and not when the product starts."""

from __future__ import annotations

from importlib import import_module
from typing import Any


class _Later:
    """Stands for a module and imports it when first asked for something; each thing is asked for once."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, attribute: str) -> Any:
        found = getattr(import_module(self._name), attribute)
        setattr(self, attribute, found)
        return found


def later(name: str) -> Any:
    """The module, to be imported when it is used; type checkers are shown the real one instead."""
    return _Later(name)

"""What each address of the API is for, said beside its view, and read by the published description."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from babel.support import LazyProxy

Schema = dict[str, Any]


@dataclass(frozen=True)
class Operation:
    """One address: what it is called, what is asked, and what comes back.

    Schemas are made when they are asked for. ``refusals`` are the states, beside success, in which it may answer
    with errors.
    """

    title: LazyProxy
    tag: str
    answer: Callable[[], Schema]
    about: LazyProxy | str = ""
    #: Of the address: name to schema.
    parameters: Callable[[], Mapping[str, Schema]] = dict
    #: What is posted; None where nothing is.
    body: Callable[[], Schema] | None = None
    status: int = 200
    refusals: tuple[int, ...] = ()
    #: Whether anybody may ask, without account or token.
    is_open: bool = False
    example: Mapping[str, Any] = field(default_factory=dict)


def described(view: Callable[..., Any], operation: Operation) -> Callable[..., Any]:
    """The view, with what it is for."""
    view.operation = operation  # type: ignore[attr-defined]
    return view

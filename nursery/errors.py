"""What can go wrong in a way that a person can mend; mapped to pages and JSON in one place each."""

from __future__ import annotations

from collections.abc import Mapping


class NurseryError(Exception):
    """Base of all errors whose message is meant for the person at the screen."""


class Invalid(NurseryError):  # noqa: N818 -- reads as a sentence: raise Invalid({...})
    """Input was refused: a message per field, each naming the value and the remedy; nothing was written."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(errors.values()))
        self.errors = dict(errors)


class NotFound(NurseryError):  # noqa: N818
    """No such record; the message says what was looked for."""


class Forbidden(NurseryError):  # noqa: N818
    """This person may not do that; the message says who may."""


class Conflict(NurseryError):  # noqa: N818
    """The record changed or exists already; the message says what the other person did."""

"""What was typed into a form that could not be taken: handed back by the page that says so, to be sent again."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from flask import g, request
from werkzeug.exceptions import HTTPException

from nursery.web.paths import own_path

#: How a form to sign in with names the fields of another, so that they come along.
_PREFIX, _ADDRESS = "kept:", "kept"
#: Fields that are never handed back, by part of their name.
_SECRET = ("password", "secret")
_TOKEN = "csrf_token"  # noqa: S105 -- the name of a field


@dataclass(frozen=True, slots=True)
class Kept:
    """A form that waits to be sent again."""

    address: str
    fields: dict[str, list[str]]

    def carried(self) -> dict[str, list[str]]:
        """The fields under names that another form can take along."""
        return {_ADDRESS: [self.address], **{_PREFIX + name: values for name, values in self.fields.items()}}

    def typed(self) -> list[str]:
        """What a person sees of it."""
        return [value for values in self.fields.values() for value in values if value.strip()]


def kept_form() -> Kept | None:
    """The form that this request sent, or that came along with it; None where it cannot be handed back.

    What holds a file or a password is not, nor is what may come from another site: people are asked to send it
    again with one press, and must find what they typed themselves.
    """
    if request.method in {"GET", "HEAD", "OPTIONS"} or request.is_json or not _is_from_here():
        return None
    try:
        form = request.form
    except HTTPException:  # too large to be read
        return None
    if form.get(_ADDRESS):
        return carried_form()
    if request.files or any(part in name.lower() for name in form for part in _SECRET):
        return None
    return Kept(request.full_path.rstrip("?"), {name: values for name, values in form.lists() if name != _TOKEN})


def carried_form() -> Kept | None:
    """The form that came along while signing in."""
    address = own_path(request.form.get(_ADDRESS, ""))
    fields = {
        name.removeprefix(_PREFIX): values for name, values in request.form.lists() if name.startswith(_PREFIX)
    }
    return Kept(address, fields) if address else None


def _is_from_here() -> bool:
    """Whether one of our own pages sent the form: its token proves it, or else the browser's word."""
    if g.get("csrf_valid"):
        return True
    said = request.headers.get("Sec-Fetch-Site")
    if said is not None:
        return said == "same-origin"
    return urlsplit(request.headers.get("Origin", "")).netloc == request.host

"""Safe ways back: only paths of this very site."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from flask import request, url_for


def back() -> str:
    """The page the person came from if it is ours, else the season page."""
    return own_path(request.form.get("next") or request.referrer or "") or url_for("season.home")


def asked(otherwise: str) -> str:
    """The page of ours that the address of a form names to come back to, else another."""
    return own_path(request.args.get("next", "")) or otherwise


def place() -> str:
    """What this request asks for, for a line of the log that nothing typed can break."""
    return f"{request.method} {quote(request.path)}"


def own_path(address: str) -> str:
    """The path of an address of this site; empty for any other."""
    try:
        found = urlsplit(address)
    except ValueError:
        return ""
    path = found.path
    if found.netloc not in {"", request.host} or not path.startswith("/") or path.startswith(("//", "/\\")):
        return ""
    return path + ("?" + found.query if found.query else "")

"""What would be refused is not offered: links and forms that lead there are taken out of a page before it is sent.

Done once for all pages, so that no template can forget it. Words of a link stay as words; a button goes.
"""

from __future__ import annotations

import re
from html import unescape

from flask import Flask, Response, request

from nursery.services.accounts.rights import Right
from nursery.web.access import acting, reachable

#: Neither links nor forms nest.
_LINK = re.compile(r'<a\b(?P<head>[^>]*?\bhref="(?P<to>/[^"]*)"[^>]*)>(?P<words>.*?)</a>', re.DOTALL)
_FORM = re.compile(r'<form\b(?=[^>]*\bmethod="post")(?P<head>[^>]*)>.*?</form>', re.DOTALL)
_ACTION = re.compile(r'\baction="(/[^"]*)"')
#: Who has all of these, in all nurseries, meets no refusal but at the accounts.
_EVERYTHING = frozenset(Right) - {Right.ADMINISTER}


def register(app: Flask) -> None:
    """Look through each page of somebody who may not do everything."""

    @app.after_request
    def take_out(response: Response) -> Response:
        if not _is_limited() or response.mimetype != "text/html" or response.is_streamed:
            return response
        page = _LINK.sub(_link, response.get_data(as_text=True))
        response.set_data(_FORM.sub(_form, page))
        return response


def _is_limited() -> bool:
    who = acting()
    return who is not None and not (who.rights >= _EVERYTHING and who.nursery_id is None)


def _link(found: re.Match[str]) -> str:
    if reachable(unescape(found["to"])):
        return found[0]
    return "" if "button" in found["head"] else found["words"]


def _form(found: re.Match[str]) -> str:
    """One that names no address is sent to that of its page."""
    action = _ACTION.search(found["head"])
    return found[0] if reachable(unescape(action[1]) if action else request.full_path, "POST") else ""

"""What would be refused is not offered: links and forms that lead there are taken out of a page before it is sent.

Done once for all pages, so that no template can forget it. Words of a link stay as words; a button goes.
"""

from __future__ import annotations

import re
from html import unescape

from flask import Flask, Response

from nursery.services.accounts.rights import Right
from nursery.web.access import acting, reachable

#: Neither links nor forms nest.
_LINK = re.compile(r'<a\b(?P<head>[^>]*?\bhref="(?P<to>/[^"]*)"[^>]*)>(?P<words>.*?)</a>', re.DOTALL)
_FORM = re.compile(r'<form\b(?=[^>]*\bmethod="post")[^>]*\baction="(?P<to>/[^"]*)"[^>]*>.*?</form>', re.DOTALL)
#: Who has all of these meets no refusal but at the accounts.
_EVERYTHING = frozenset(Right) - {Right.ADMINISTER}


def register(app: Flask) -> None:
    """Look through each page of somebody who may not do everything."""

    @app.after_request
    def take_out(response: Response) -> Response:
        who = acting()
        if who is None or who.rights >= _EVERYTHING or response.mimetype != "text/html" or response.is_streamed:
            return response
        page = _LINK.sub(_link, response.get_data(as_text=True))
        response.set_data(_FORM.sub(_form, page))
        return response


def _link(found: re.Match[str]) -> str:
    if reachable(unescape(found["to"])):
        return found[0]
    return "" if "button" in found["head"] else found["words"]


def _form(found: re.Match[str]) -> str:
    return found[0] if reachable(unescape(found["to"]), "POST") else ""

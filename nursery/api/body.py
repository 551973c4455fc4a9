"""The body of a request: one JSON value, or a refusal in words."""

from __future__ import annotations

from typing import Any

from flask import request
from werkzeug.exceptions import BadRequest, UnsupportedMediaType

from nursery.i18n import gettext as _


def sent() -> Any:
    """What was sent. It must say that it is JSON: a page elsewhere can make a browser send anything but that."""
    if not request.is_json:
        raise UnsupportedMediaType(_("Send JSON, and say so: Content-Type: application/json."))
    try:
        return request.get_json()
    except (BadRequest, RecursionError):
        raise BadRequest(_("The body is not JSON. Send one JSON object with the fields.")) from None


def asked() -> dict[str, str]:
    """The parameters of the address; of one given twice the first counts, as everywhere."""
    return request.args.to_dict()

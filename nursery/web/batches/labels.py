"""Labels of a batch's trays: how many, on which sheet, from which label on; and the file."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from urllib.parse import urlsplit

from flask import Response, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.documents.label_layouts import ROLL_HEIGHT, ROLL_WIDTH, SHEETS, Layout, roll
from nursery.documents.labels import labels_pdf
from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Batch
from nursery.services.batches.labelling import MOST_LABELS, batch_labels
from nursery.services.understanding import parse_number
from nursery.web.batches.writing import get_batch
from nursery.web.links import own_address
from nursery.web.session import today

#: Longer addresses make codes too fine for a small label.
_LONGEST = 120


@dataclass
class Asked:
    """What a person asks of labels, as typed."""

    layout: str
    width: str
    height: str
    labels: str
    first: str
    start: str
    base: str


def labels_page(record_id: int) -> ResponseReturnValue:
    """Choose how the labels are laid out."""
    return _page(get_batch(record_id), {})


def _page(batch: Batch, errors: dict[str, str]) -> ResponseReturnValue:
    asked = _asked(batch)
    page = render_template(
        "batches/labels.html", section="grow", batch=batch, asked=asked, sheets=_sheets(), errors=errors,
        address=_address(batch, asked.base), only_here=_only_here(asked.base),
        cancel_url=url_for("batches.detail", record_id=batch.id),
    )  # fmt: skip
    return (page, 422) if errors else page


def labels_file(record_id: int) -> ResponseReturnValue:
    """The labels as a PDF, or the form again with what was wrong."""
    batch = get_batch(record_id)
    asked = _asked(batch)
    errors: dict[str, str] = {}
    layout = _layout(asked, errors)
    count = _whole("labels", asked.labels, 1, MOST_LABELS, errors)
    first = _whole("first", asked.first, 1, 100_000, errors)
    start = _whole("start", asked.start, 1, layout.each if layout else 1, errors)
    address = _address(batch, asked.base)
    parts = urlsplit(address)
    if parts.scheme not in {"http", "https"} or not parts.netloc or len(address) > _LONGEST:
        errors["base"] = _("“%(base)s” is no address. Write it as in a browser: https://…", base=asked.base)
    if errors or layout is None:
        return _page(batch, errors)
    labels = batch_labels(batch, address, count=count, first=first)
    title = _("Labels of %(batch)s", batch=batch.code)
    response = Response(
        labels_pdf(labels, layout, day=today(), title=title, start=start - 1), content_type="application/pdf"
    )
    response.headers.set("Content-Disposition", "inline", filename=f"{title}.pdf")
    return response


def _asked(batch: Batch) -> Asked:
    given = request.args
    return Asked(
        layout=given.get("layout", "24-70x37"),
        width=given.get("width", "62"),
        height=given.get("height", "29"),
        labels=given.get("labels", str(max(batch.trays, 1))),
        first=given.get("first", "1"),
        start=given.get("start", "1"),
        base=given.get("base", "").strip() or own_address(),
    )


def _address(batch: Batch, base: str) -> str:
    path = url_for("batches.detail", record_id=batch.id).removeprefix(request.script_root)
    return base.rstrip("/") + path


def _only_here(base: str) -> bool:
    """Whether the address means this machine alone: a phone would find nothing there."""
    host = urlsplit(base).hostname or ""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def _sheets() -> list[tuple[str, str]]:
    found = [
        (
            key,
            _(
                "%(each)s on a sheet: %(width)s × %(height)s mm",
                each=sheet.each,
                width=format_number(sheet.width, 1),
                height=format_number(sheet.height, 1),
            ),
        )
        for key, sheet in SHEETS.items()
    ]
    return [*found, ("roll", _("A roll: one after another, size below"))]


def _layout(asked: Asked, errors: dict[str, str]) -> Layout | None:
    if asked.layout in SHEETS:
        return SHEETS[asked.layout]
    if asked.layout != "roll":
        errors["layout"] = _("Choose one of the list.")
        return None
    width = _number("width", asked.width, *ROLL_WIDTH, errors)
    height = _number("height", asked.height, *ROLL_HEIGHT, errors)
    return None if {"width", "height"} & errors.keys() else roll(width, height)


def _number(field: str, text: str, low: float, high: float, errors: dict[str, str]) -> float:
    try:
        number = float(parse_number(text))
    except (Invalid, ValueError):
        number = float("nan")
    if low <= number <= high:
        return number
    errors[field] = _(
        "“%(text)s” does not do here. Give a number from %(low)s to %(high)s.",
        text=text,
        low=format_number(low),
        high=format_number(high),
    )
    return low


def _whole(field: str, text: str, low: int, high: int, errors: dict[str, str]) -> int:
    number = _number(field, text, low, high, errors)
    if number != int(number):
        errors[field] = _("%(value)s is not a whole number. Leave the decimals out.", value=text)
    return int(number)

"""Writing down what was seen in the field, and the bags of single mothers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.services.bags import list_bags, write_bags
from nursery.services.collecting import crop_verdict, record_field_facts
from nursery.services.mothers import lot_worth
from nursery.services.records import get
from nursery.web.lots.bag_rows import TypedRow, in_unit, pasted_rows, read_bags, stored_rows, typed_rows
from nursery.web.lots.labels import SEX_LABELS
from nursery.web.lots.mothers_forms import FieldForm
from nursery.web.lots.pages import PAGES, bp
from nursery.web.lots.reading import entry
from nursery.web.records import ID, edit
from nursery.web.session import actor, db

#: Empty rows below those filled in, and at least so many rows in all.
_SPARE, _LEAST = 5, 10


def _change(
    session: Session, person: str, *, row: Lot, values: Mapping[str, Any], version: int, today: dt.date
) -> Lot:
    del today
    return record_field_facts(session, person, lot=row, values=values, version=version)


def _remarks(row: Lot) -> Sequence[tuple[str, str]]:
    verdict = crop_verdict(row)
    return [(verdict[1], verdict[0])] if verdict and verdict[0] != "ok" else []


FIELD = replace(PAGES, form=FieldForm, change=_change, form_template="lots/field_form.html", remarks=_remarks)


@bp.route(f"/lots/{ID}/field", methods=["GET", "POST"])
def field_facts(record_id: int) -> ResponseReturnValue:
    """What was seen in the field."""
    return edit(FIELD, record_id)


@bp.route(f"/lots/{ID}/bags", methods=["GET", "POST"])
def bags(record_id: int) -> ResponseReturnValue:
    """Bags of single mothers: pasted text becomes rows, rows are saved as a whole."""
    lot = get(db(), Lot, record_id)
    unit = _unit(lot)
    if request.method != "POST":
        return _page(lot, stored_rows(list_bags(db(), lot), unit), unit)
    rows, version = typed_rows(request.form), request.form.get("version", "")
    text = request.form.get("paste", "")
    # Enter in a row presses the form's first button too: with nothing pasted it means saving.
    if text.strip():
        try:
            pasted = pasted_rows(text, counted=unit == "pieces")
            # The heading's unit becomes the form's; rows that stand there already keep theirs.
            shown = (pasted.unit or unit) if not rows else unit
            return _page(lot, [*rows, *in_unit(pasted, shown)], shown, version=version)
        except Invalid as refused:
            return _page(lot, rows, unit, version=version, errors=refused.errors, pasted=text), 422
    new = read_bags(rows, unit)
    if new is None:
        return _page(lot, rows, unit, version=version), 422
    try:
        write_bags(db(), actor(), lot=lot, bags=new, version=int(version) if version.isdecimal() else 0)
    except (Invalid, Conflict) as refused:
        db().rollback()
        lot = get(db(), Lot, record_id)
        errors = refused.errors if isinstance(refused, Invalid) else {"": str(refused)}
        status = 422 if isinstance(refused, Invalid) else 409
        return _page(lot, rows, unit, errors=errors), status
    worth = lot_worth(db(), lot)
    flash(worth.sentence, {"waiting": "info"}.get(worth.tone, worth.tone))
    return redirect(url_for("lots.detail", record_id=record_id, _anchor="field"), 303)


def _unit(lot: Lot) -> str:
    if lot.material is Material.CUTTINGS:
        return "pieces"
    return "kg" if request.values.get("unit") == "kg" else "g"


def _page(
    lot: Lot, rows: list[TypedRow], unit: str, *, version: str = "", errors: Mapping[str, str] | None = None,
    pasted: str = "",
) -> str:  # fmt: skip
    wrong = {
        f"{column}-{number}": _("Row %(number)s: %(text)s", number=number, text=text)
        for number, row in enumerate(rows, start=1)
        for column, text in row.errors.items()
    }
    spare = max(_SPARE, _LEAST - len(rows))
    species = entry(lot)
    return render_template(
        "lots/bags.html",
        section="seed",
        row=lot,
        rows=[*rows, *(TypedRow() for _number in range(spare))],
        unit=unit,
        version=version or lot.version,
        errors={**wrong, **({} if errors is None else errors)},
        pasted=pasted,
        sexes=[(sex.value, str(label)) for sex, label in SEX_LABELS.items()],
        dioecious=(species is not None and species.dioecious) or any(row.sex for row in rows),
        cancel_url=url_for("lots.detail", record_id=lot.id),
    )

"""Choosing lots to mix, seeing what the rule says, and mixing them."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import joinedload

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, StoragePlace
from nursery.models.movements import Measure
from nursery.planning.mixing import SOURCE
from nursery.services.ledger import judge_lots, mix_lots, seed_measure
from nursery.services.ledger.verdicts import RULE_TEXTS, STATUS_LABELS
from nursery.services.ledger.words import held_text
from nursery.web import outage
from nursery.web.fields import DayField, NumberField, TextField
from nursery.web.forms import RecordForm
from nursery.web.lots.ledger_forms import refuse_amount, stored_amount
from nursery.web.record_fields import RecordSelect
from nursery.web.session import actor, db, today

#: Lots offered to be mixed with one.
_OFFERED = 200


class MixForm(RecordForm):
    """What a mixture asks beside the amounts, which get a field for each lot."""

    storage_place_id = RecordSelect(_l("Kept in"), model=StoragePlace)
    code = TextField(_l("Code of the new lot"), most=24, description=_l("Left empty, the next code is given."))
    certificate_number = TextField(
        _l("Master certificate"),
        most=60,
        description=_l("Its number, as the authority writes it. It can be written on the lot later."),
    )
    happened_on = DayField(_l("Day"), needed=True)
    reason = TextField(_l("Reason or remark"), most=400)


def page(lot: Lot) -> ResponseReturnValue:
    """Choose, see the verdict, mix."""
    offered = _offered(lot)
    chosen = [lot, *_chosen(lot, offered)]
    proposal = judge_lots(db(), chosen) if len(chosen) > 1 else None
    form = _form(chosen) if proposal and proposal.allowed else None
    if form and proposal and not proposal.verdict.needs_certificate:
        del form["certificate_number"]  # that of the parts stays
    status = 200
    if request.method == "POST":
        mixed = _mix(form, chosen) if form else None
        if mixed is not None:
            flash(
                _("Lot %(code)s was mixed. Test it: its figures are reckoned from its parts.", code=mixed.code),
                "ok",
            )
            if proposal and proposal.verdict.needs_certificate and not mixed.certificate_number:
                flash(_("Ask the authority for a new master certificate of %(code)s.", code=mixed.code), "caution")
            return redirect(url_for("lots.detail", record_id=mixed.id, _anchor="ledger"), 303)
        status = 422
    refusal = "" if proposal or request.method != "POST" else _nothing_to_mix(lot)
    html = render_template(
        "lots/ledger_mix.html", section="seed", lot=lot, offered=offered, chosen=chosen, proposal=proposal,
        form=form, refusal=refusal, rule_texts=RULE_TEXTS, status_labels=STATUS_LABELS, source=SOURCE,
        held_text=held_text, cancel_url=url_for("lots.detail", record_id=lot.id),
    )  # fmt: skip
    return html, status


def _offered(lot: Lot) -> Sequence[Lot]:
    """Other lots in use of the species that hold something, in the unit of this one."""
    balance: Any = Lot.pieces if seed_measure(lot) is Measure.PIECES else Lot.amount_mg
    return (
        db()
        .scalars(
            select(Lot)
            .where(Lot.species_id == lot.species_id, Lot.id != lot.id, Lot.archived_at.is_(None))
            .where(balance > 0, Lot.material == lot.material)
            .options(joinedload(Lot.population), joinedload(Lot.species))
            .order_by(Lot.code)
            .limit(_OFFERED)
        )
        .all()
    )


def _chosen(lot: Lot, offered: Sequence[Lot]) -> list[Lot]:
    wanted = set(request.values.getlist("with"))
    return [other for other in offered if str(other.id) in wanted and other.id != lot.id]


def _nothing_to_mix(lot: Lot) -> str:
    """Why the lots that were sent are no mixture."""
    wanted = set(request.values.getlist("with"))
    if wanted == {str(lot.id)}:
        return _("%(lot)s cannot be mixed with itself. Choose another lot of the list.", lot=lot.code)
    if wanted:
        return _(
            "The lots that were chosen cannot be mixed with %(lot)s: they are empty, archived, of another species"
            " or counted otherwise. Choose from the list.",
            lot=lot.code,
        )
    return _("No lot to mix %(lot)s with was chosen. Choose one or more of the list.", lot=lot.code)


def _form(chosen: Sequence[Lot]) -> MixForm:
    """A field for the amount of each lot, filled with all that it holds."""
    unit = _("pieces") if seed_measure(chosen[0]) is Measure.PIECES else "g"
    fields = {
        f"amount_{lot.id}": NumberField(
            _("Of %(lot)s", lot=lot.code),
            needed=True,
            unit=unit,
            description=_("It holds %(held)s.", held=held_text(lot)),
        )
        for lot in chosen
    }
    made: type[MixForm] = type("MixFormOfLots", (MixForm,), fields)
    held = {f"amount_{lot.id}": lot.pieces if lot.amount_mg is None else lot.amount_mg / 1000 for lot in chosen}
    data = {"happened_on": today(), "storage_place_id": chosen[0].storage_place_id, **held}
    form = made(request.form if request.method == "POST" else None, data=data)
    for name in ("notes", "version"):
        del form[name]
    return form


def _mix(form: MixForm, chosen: Sequence[Lot]) -> Lot | None:
    sound = bool(form.validate())
    for lot in chosen:
        field = form[f"amount_{lot.id}"]
        refusal = None if field.errors else refuse_amount(seed_measure(lot), field.data, None)
        if refusal:
            field.errors, sound = [refusal], False
    if not sound:
        return None
    amounts = [(lot, stored_amount(seed_measure(lot), form[f"amount_{lot.id}"].data, None)) for lot in chosen]
    certificate = (form.certificate_number.data or "") if "certificate_number" in form else ""
    try:
        return mix_lots(
            db(), actor(), amounts=amounts, code=form.code.data, storage_place_id=form.storage_place_id.data,
            certificate_number=certificate, reason=form.reason.data or "",
            happened_on=form.happened_on.data or today(), today=today(),
        )  # fmt: skip
    except Invalid as refused:
        db().rollback()
        form.refuse(refused.errors)
    except OperationalError as error:
        db().rollback()
        form.form_errors.append(outage.busy(error))
    return None

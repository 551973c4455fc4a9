"""Sowing: chosen from what the plan draws, or free."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.catalog import caution_text
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Batch, Container, Lot, Target
from nursery.models.lots import Material
from nursery.planning.words import Method
from nursery.services import batches
from nursery.services.batches.moving import MOST
from nursery.services.batches.offering import Offer, offers
from nursery.services.batches.sowing import half_empty
from nursery.services.catalogue import effective_entries
from nursery.services.ledger.words import held_text
from nursery.services.listing import whole
from nursery.web.batches.forms import SowForm
from nursery.web.batches.writing import attempt
from nursery.web.session import actor, db, today

#: Cautions of a species that matter where its seed is handled.
_HANDLING = {"toxic-sap", "toxic-seed", "toxic-fruit", "toxic-raw", "spiny"}


def new() -> ResponseReturnValue:
    """Choose a line of the plan or a lot, see the form filled in, sow."""
    offer = _offer()
    lot = offer.lot if offer else _lot()
    sent = request.method == "POST"
    if not sent and lot is None:
        return render_template("batches/choose.html", section="grow", offers=offers(db()))
    form = SowForm(request.form if sent else None, data=_filled(offer, lot), lot=lot)
    if sent:
        batch = attempt(form, lambda: _sow(form, offer))
        if batch is not None:
            flash(
                _("%(seeds)s seeds left the lot; batch %(batch)s begins. Print its labels now.",
                  seeds=format_number(batch.seeds), batch=batch.code),
                "ok",
            )  # fmt: skip
            if odd := half_empty(batch):
                flash(odd, "caution")
            return redirect(url_for("batches.detail", record_id=batch.id), 303)
        offer, lot = _offer(), _lot()
        if lot is not None:
            form.target_id.offer(lot.species_id)
    page = render_template(
        "batches/new.html", section="grow", form=form, offer=offer, lot=lot,
        held=held_text(lot) if lot else "", to_weigh=_to_weigh(offer, lot), cautions=_cautions(lot),
        cancel_url=url_for("batches.new"),
    )  # fmt: skip
    return (page, 422) if sent else page


def _offer() -> Offer | None:
    draw = request.args.get("draw", type=int)
    if draw is None or not 0 < draw < 2**31:
        return None
    return next(iter(offers(db(), first=draw)), None)


def _lot() -> Lot | None:
    """The lot that was typed, else the one that the address names."""
    code = (request.form.get("lot_id") or request.args.get("lot", "")).strip()
    if not code:
        return None
    return db().scalar(select(Lot).where(Lot.code == code.upper()).options(joinedload(Lot.species)))


def _filled(offer: Offer | None, lot: Lot | None) -> dict[str, Any]:
    """Everything the plan knows of it; of a lot alone its part and the day."""
    filled: dict[str, Any] = {"sown_on": today(), "lot_id": lot.id if lot else None}
    if lot is not None and lot.material is Material.CUTTINGS:
        filled["method"] = Method.CUTTINGS
    if offer is None:
        return filled | _asked(lot)
    line = offer.line
    return filled | {
        # No grams: they would stay behind when the seeds are corrected, and too much would leave the lot.
        "seeds": offer.seeds or None,
        "method": line.method,
        "protocol": line.protocol,
        "container_id": line.container_id,
        "trays": offer.trays,
        "seeds_per_cell": line.seeds_per_cell,
        "target_id": line.target_id,
        "ready_on": line.ready_on,
    }


def _asked(lot: Lot | None) -> dict[str, Any]:
    """What the address asks for, such as a way out of a shortage; nonsense counts as not asked."""
    asked = request.args
    numbers = {
        name: value
        for name, key in (("seeds", "seeds"), ("trays", "trays"), ("seeds_per_cell", "each"))
        if (value := asked.get(key, type=whole)) is not None and 0 < value <= MOST
    }
    target = db().get(Target, asked.get("target", 0, type=whole))
    container = db().get(Container, asked.get("container", 0, type=whole))
    method = asked.get("method", "")
    found: dict[str, Any] = dict(numbers)
    if target is not None and lot is not None and target.species_id == lot.species_id:
        found["target_id"] = target.id
    if container is not None:
        found["container_id"] = container.id
    if method in set(Method):
        found["method"] = Method(method)
    if protocol := asked.get("protocol", "")[:60]:
        found["protocol"] = protocol
    return found


def _to_weigh(offer: Offer | None, lot: Lot | None) -> str:
    """The grams that the plan reckons with, as a hint: filled in they would stay behind when seeds change."""
    if lot is None or lot.amount_mg is None:
        return ""
    if offer is not None:
        grams = None if offer.milligrams is None else offer.milligrams / 1000
    else:
        grams = request.args.get("grams", type=float)
    if grams is None or not 0 < grams < MOST:
        return ""
    return _(
        "The plan reckons with %(grams)s g. Left empty, it is reckoned from the seeds.",
        grams=format_number(grams, 1 if grams >= 10 else 3),
    )


def _sow(form: SowForm, offer: Offer | None) -> Batch:
    lot = db().get_one(Lot, form.lot_id.data)
    grams = form.grams.data
    # Seed of another lot than the line draws is not the line's.
    line_id = offer.line.id if offer is not None and offer.lot.id == lot.id else None
    return batches.sow(
        db(), actor(), lot=lot, seeds=form["seeds"].data, trays=form["trays"].data, method=form.method.data,
        container_id=form.container_id.data, protocol=form.protocol.data or "", sown_on=form["sown_on"].data,
        today=today(), target_id=form.target_id.data, line_id=line_id, seeds_per_cell=form.seeds_per_cell.data,
        bench_id=form.bench_id.data, code=form.code.data or "", ready_on=form.ready_on.data,
        milligrams=None if grams is None or lot.amount_mg is None else max(round(grams * 1000), 1),
        notes=form.notes.data or "",
    )  # fmt: skip


def _cautions(lot: Lot | None) -> list[str]:
    """What holds for the seed while it is handled."""
    if lot is None:
        return []
    entry = effective_entries(db(), {lot.species_id}).get(lot.species_id)
    treated = _("Seed may have been treated: read what is written on the bag, and wear gloves if it was.")
    keys = [*(["spiny"] if entry.spiny else []), *entry.cautions] if entry else []
    return [treated, *(caution_text(key) for key in dict.fromkeys(keys) if key in _HANDLING)]

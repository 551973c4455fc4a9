"""Seed that is given to a recipient, and its papers."""

from __future__ import annotations

from flask import abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy import select
from sqlalchemy.orm import joinedload

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Lot, Movement, Recipient
from nursery.models.lots import Material
from nursery.models.movements import MovementKind
from nursery.models.papers import PaperKind
from nursery.services.ledger.words import amount_text, held_text
from nursery.services.papers.consignments import Consignment
from nursery.services.papers.giving import consign_gift, gifts, give
from nursery.services.papers.keeping import STATE_LABELS, STATE_TONES, papers_of, state_of
from nursery.services.papers.words import KIND_LABELS, WHO_LABELS
from nursery.web.links import address
from nursery.web.papers.drawing import draw_page
from nursery.web.papers.forms import GiveForm
from nursery.web.papers.looking import context
from nursery.web.papers.routes import bp
from nursery.web.session import actor, db, today

_LOT = "<int(max=2147483647):lot_id>"
_NAMES = ",".join(f'"{kind.value}"' for kind in PaperKind if not kind.value.startswith("plant-"))
_KINDS = f"<any({_NAMES}):kind>"


@bp.get(f"/papers/lot/{_LOT}")
def of_lot(lot_id: int) -> str:
    """Papers in which a lot is named, and seed of it that was given."""
    lot = _lot(lot_id)
    return render_template(
        "papers/of_lot.html", section="report", lot=lot, held=held_text(lot), gifts=gifts(db(), lot),
        amount=amount_text, papers=papers_of(db(), lot_id=lot.id), kinds=KIND_LABELS, state_of=state_of,
        state_labels=STATE_LABELS, state_tones=STATE_TONES, can_give=_can_give(lot),
    )  # fmt: skip


@bp.route(f"/papers/lot/{_LOT}/give", methods=["GET", "POST"])
def give_seed(lot_id: int) -> ResponseReturnValue:
    """Give seed to a recipient; its papers come next."""
    lot = _lot(lot_id)
    if not _can_give(lot):
        flash(_("Nothing of %(lot)s can be given now.", lot=lot.code), "caution")
        return redirect(url_for(".of_lot", lot_id=lot_id), 303)
    form = GiveForm(request.form if request.method == "POST" else None, lot=lot)
    if request.method == "POST" and form.validate():
        try:
            recipient = db().get(Recipient, form.recipient_id.data) or abort(404)
            gift = give(
                db(), actor(), lot=lot, recipient=recipient, amount=form.typed_amount(), measure=form.measure,
                happened_on=form.happened_on.data or today(), today=today(), remark=form.reason.data or "",
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            given = amount_text(gift.measure, -gift.change)
            flash(_("%(amount)s left %(lot)s.", amount=given, lot=lot.code), "ok")
            return redirect(url_for(".of_gift", act=gift.act), 303)
    page = render_template(
        "papers/give.html", section="report", lot=_lot(lot_id), form=form, held=held_text(lot),
        recipients_url=address("recipients.new"),
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page


@bp.get("/papers/gift/<act>")
def of_gift(act: str) -> str:
    """Which papers travel with seed that was given, and why."""
    lot, consignment = _gift(act)
    return render_template(
        "papers/of_gift.html", section="report", lot=lot, who=WHO_LABELS[consignment.who],
        given=amount_text(consignment.measure, consignment.amount),
        papers=[paper for paper in papers_of(db(), lot_id=lot.id) if paper.act == act],
        **context(consignment, lambda **values: url_for("papers.draw_gift", act=act, **values)),
    )  # fmt: skip


@bp.route(f"/papers/gift/<act>/{_KINDS}/<part>", methods=["GET", "POST"])
def draw_gift(act: str, kind: str, part: str) -> ResponseReturnValue:
    """Draw one paper of given seed up."""
    lot, consignment = _gift(act)
    return draw_page(
        consignment, PaperKind(kind), part, subject=lot.code, back_url=url_for("papers.of_gift", act=act)
    )


def _gift(act: str) -> tuple[Lot, Consignment]:
    lot_id = db().scalar(
        select(Movement.lot_id).where(Movement.act == act, Movement.kind == MovementKind.GIVEN).limit(1)
    )
    lot = _lot(lot_id or 0)
    return lot, consign_gift(db(), lot, act, today())


def _lot(lot_id: int) -> Lot:
    lot = db().get(
        Lot, lot_id,
        options=[joinedload(Lot.species), joinedload(Lot.population), joinedload(Lot.storage_place)],
    )  # fmt: skip
    return lot if lot is not None else abort(404)


def _can_give(lot: Lot) -> bool:
    held = lot.pieces if lot.material is Material.CUTTINGS or lot.amount_mg is None else lot.amount_mg
    return bool(held) and lot.archived_at is None

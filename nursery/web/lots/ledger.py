"""The ledger on the page of a lot, as a file, and its small forms."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlalchemy.orm import joinedload

from nursery.catalog import caution_text
from nursery.errors import Invalid, NurseryError
from nursery.i18n import gettext as _
from nursery.models import Lot
from nursery.models.movements import Measure, MovementKind
from nursery.services import ledger
from nursery.services.ledger.reading import SHOWN, Entry
from nursery.services.ledger.words import KIND_LABELS, MEASURE_LABELS, amount_text, held_text
from nursery.tabular.writer import Cell, Heading
from nursery.web import outage
from nursery.web.forms import RecordForm
from nursery.web.listing import send_table
from nursery.web.lots import ledger_mixing
from nursery.web.lots.ledger_acts import ACTS, Act
from nursery.web.lots.ledger_forms import ActForm
from nursery.web.lots.reading import entry as entry_of
from nursery.web.records import ID
from nursery.web.session import actor, db, today

_JOINS = {MovementKind.SPLIT, MovementKind.MIXED}
#: Cautions of a species that matter where its fruit and seed are handled.
_HANDLING = {"toxic-sap", "toxic-seed", "toxic-fruit", "toxic-raw", "spiny", "flammable"}


def context(row: Lot) -> Mapping[str, Any]:
    """Movements, what can be done now, and where mixed or split seed came from and went."""
    entries = ledger.read_ledger(db(), row)
    cut = len(entries) == SHOWN
    came = cut or any(entry.kind in _JOINS and entry.change > 0 for entry in entries)
    went = cut or any(entry.kind in _JOINS and entry.change < 0 for entry in entries)
    origins = ledger.lot_origins(db(), [row])[row.id] if came else []
    is_made = [origin.lot.id for origin in origins] != [row.id]
    return {
        "needs_certificate": bool(origins) and is_made and ledger.needs_certificate(origins),
        "ledger": entries,
        "ledger_cut": cut,
        "ledger_texts": {"kinds": KIND_LABELS, "measures": MEASURE_LABELS, "amount": amount_text},
        "ledger_held": held_text(row),
        "ledger_acts": [] if row.archived_at else [(name, act) for name, act in ACTS.items() if act.fits(row)],
        "ledger_yields": _yields(entries),
        "origins": origins,
        "descendants": ledger.lot_descendants(db(), row) if went else [],
    }


def _yields(entries: Sequence[Entry]) -> dict[str, float]:
    """The extraction yield of each act among these entries that was weighed on both sides."""
    weighed: dict[str, dict[Measure, int]] = {}
    for entry in entries:
        if entry.kind is MovementKind.EXTRACTED:
            weighed.setdefault(entry.act, {})[entry.measure] = entry.change
    return {
        act: sides[Measure.SEED] / -sides[Measure.FRUIT]
        for act, sides in weighed.items()
        if sides.keys() == {Measure.SEED, Measure.FRUIT}
    }


def add_routes(bp: Blueprint) -> None:
    """The ledger's pages under those of the lot."""
    at = f"/lots/{ID}"
    both = ["GET", "POST"]
    bp.add_url_rule(f"{at}/ledger/<act_name>", "ledger_act", act_page, methods=both)
    bp.add_url_rule(f"{at}/take-back/<act>", "ledger_reverse", reverse_page, methods=both)
    bp.add_url_rule(f"{at}/mix", "ledger_mix", lambda record_id: ledger_mixing.page(_lot(record_id)), methods=both)
    bp.add_url_rule(f"{at}/ledger.<any(csv,xlsx):file_format>", "ledger_export", export)


def _lot(record_id: int) -> Lot:
    row = db().get(Lot, record_id, options=[joinedload(Lot.species), joinedload(Lot.population)])
    return row if row is not None else abort(404)


def act_page(record_id: int, act_name: str) -> ResponseReturnValue:
    """The form of one act, or its writing."""
    lot, act = _lot(record_id), ACTS.get(act_name)
    if act is None:
        abort(404)
    if not act.fits(lot) or lot.archived_at is not None:
        flash(_("This cannot be done with %(lot)s now.", lot=lot.code), "caution")
        return redirect(url_for("lots.detail", record_id=lot.id), 303)
    form = ActForm(request.form if request.method == "POST" else None, lot=lot, names=act.fields)
    done = _try(form, lambda: act.run(lot, form)) if request.method == "POST" else None
    if done:
        told, shown = done
        flash(told, "ok")
        return redirect(url_for("lots.detail", record_id=shown.id, _anchor="ledger"), 303)
    lot = _lot(record_id)
    page = render_template(
        "lots/ledger_act.html", section="seed", lot=lot, act=act, form=form, held=held_text(lot),
        cautions=cautions_of(lot, act), cancel_url=url_for("lots.detail", record_id=lot.id),
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page


def cautions_of(lot: Lot, act: Act) -> list[str]:
    """Cautions of the work, and those of the species where it is done by hand."""
    found = [str(act.caution)] if act.caution else []
    entry = entry_of(lot) if act.by_hand else None
    if entry is not None:
        keys = [*(["spiny"] if entry.spiny else []), *entry.cautions]
        found += [caution_text(key) for key in dict.fromkeys(keys) if key in _HANDLING]
    return found


def reverse_page(record_id: int, act: str) -> ResponseReturnValue:
    """Ask why an act is taken back, and take it back."""
    lot = _lot(record_id)
    entries = [entry for entry in ledger.read_ledger(db(), lot, limit=None) if entry.act == act]
    if not entries:
        abort(404)
    form = ActForm(request.form if request.method == "POST" else None, lot=lot, names=())
    del form["happened_on"]
    if request.method == "POST":
        done = _try(
            form, lambda: ledger.reverse_act(db(), actor(), act=act, reason=form.reason.data, today=today())
        )
        if done:
            flash(_("It was taken back. Both entries stay in the ledger."), "ok")
            return redirect(url_for("lots.detail", record_id=record_id, _anchor="ledger"), 303)
    page = render_template(
        "lots/ledger_reverse.html", section="seed", lot=_lot(record_id), entries=entries, form=form,
        kinds=KIND_LABELS, amount=amount_text, cancel_url=url_for("lots.detail", record_id=record_id),
    )  # fmt: skip
    return (page, 422) if request.method == "POST" else page


def _try(form: RecordForm, write: Callable[[], Any]) -> Any:
    """Do it if the form is sound; None, and the reasons at their fields, if it or the service refuses."""
    if not form.validate():
        return None
    try:
        return write()
    except Invalid as refused:
        db().rollback()
        form.refuse(refused.errors)
    except NurseryError as refused:
        db().rollback()
        form.form_errors.append(str(refused))
    except (IntegrityError, OperationalError) as error:
        db().rollback()
        form.form_errors.append(outage.busy(error))
    return None


def export(record_id: int, file_format: str) -> Response:
    """The whole ledger of a lot, newest first."""
    lot = _lot(record_id)
    headings = [
        Heading(_("Day"), "date"), Heading(_("What")), Heading(_("Of what")), Heading(_("Change"), "number"),
        Heading(_("Balance"), "number"), Heading(_("Unit")), Heading(_("Other lot")), Heading(_("Person")),
        Heading(_("Reason")), Heading(_("Taken back")),
    ]  # fmt: skip
    rows: Iterator[list[Cell]] = (
        [
            entry.happened_on, str(KIND_LABELS[entry.kind]), str(MEASURE_LABELS[entry.measure]),
            _counted(entry, entry.change), _counted(entry, entry.balance),
            _("pieces") if entry.measure is Measure.PIECES else _("g"), entry.other_code or "", entry.person,
            entry.reason, _("yes") if entry.reversed_by else "",
        ]
        for entry in ledger.read_ledger(db(), lot, limit=None)
    )  # fmt: skip
    return send_table(_("Ledger of %(lot)s", lot=lot.code), headings, rows, file_format)


def _counted(entry: Entry, number: int) -> float:
    return number if entry.measure is Measure.PIECES else number / 1000

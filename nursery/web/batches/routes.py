"""The pages of batches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch
from nursery.services import batches, records
from nursery.services.batches.changing import archive_batch, change_batch
from nursery.services.batches.listing import LISTING
from nursery.services.batches.page import read_page
from nursery.services.batches.reversing import foreseen
from nursery.services.batches.telling import late_text, settled_text, young_text
from nursery.services.batches.words import CAUSE_LABELS, KIND_LABELS, STAGE_LABELS
from nursery.services.dispatches.reading import loads_of_batch
from nursery.services.dispatches.undoing import take_act_back
from nursery.services.dispatches.words import STATUS_LABELS, STATUS_TONES
from nursery.services.quality.reading import latest_looks
from nursery.tabular.writer import Cell, Heading
from nursery.web import records as pages
from nursery.web.batches import counting, labels, merging, sowing
from nursery.web.batches.acts import ACTS, fitting, held_text
from nursery.web.batches.facts import batch_facts
from nursery.web.batches.forms import ActForm, BatchForm
from nursery.web.batches.writing import attempt, get_batch
from nursery.web.health import panels as health_panel
from nursery.web.listing import send_table
from nursery.web.records import ID, RecordPages, Words
from nursery.web.session import actor, db, today


def _context(row: Batch) -> Mapping[str, Any]:
    return {
        "page": read_page(db(), row, today=today()),
        "acts": fitting(row),
        "count_form": None if row.archived_at else counting.count_form(row),
        "stages": STAGE_LABELS,
        "kinds": KIND_LABELS,
        "causes": CAUSE_LABELS,
        "loads": loads_of_batch(db(), row.id),
        "look": latest_looks(db(), [row.id]).get(row.id),
        "states": STATUS_LABELS,
        "tones": STATUS_TONES,
        **health_panel.of_batch(row),
    }


PAGES = RecordPages(
    name="batches",
    section="grow",
    model=Batch,
    listing=LISTING,
    form=BatchForm,
    words=Words(
        list_title=_l("Batches"),
        new_title=_l("Sow a batch"),
        new_button=_l("Sow a batch"),
        noun=_l("Batch"),
        empty_title=_l("Nothing has been sown yet"),
        empty_text=_l(
            "A batch is one lot sown on one day in one kind of container. Sowing it takes the seed from its lot,"
            " and from then on every plant is accounted for."
        ),
        archive_text=_l("The batch leaves the lists. Its ledger and its origin stay."),
        list_lead=_l("Scan a tray’s label to come to its batch at once."),
    ),
    create=records.create,
    change=change_batch,
    title=lambda row: row.code,
    facts=batch_facts,
    context=_context,
    detail_template="batches/detail.html",
)

bp = Blueprint("batches", __name__)
_AT = f"/batches/{ID}"
_BOTH = ["GET", "POST"]


def act_page(record_id: int, act_name: str) -> ResponseReturnValue:
    """The form of one act, or its writing."""
    batch, act = get_batch(record_id), ACTS.get(act_name)
    if act is None:
        abort(404)
    if batch.archived_at is not None or not act.fits(batch):
        flash(_("This cannot be done with %(batch)s now.", batch=batch.code), "caution")
        return redirect(url_for("batches.detail", record_id=batch.id), 303)
    sent = request.method == "POST"
    names = [name for name in act.fields if name != "plants" or batch.alive or act_name == "bring-back"]
    form = ActForm(
        request.form if sent else None, batch=batch, names=names, remark=act.remark, data=dict(act.filled(batch))
    )
    done = attempt(form, lambda: act.run(batch, form)) if sent else None
    if done:
        told, shown = done
        flash(told, "ok")
        if act.may_be_late and (late := late_text(db(), shown, form["happened_on"].data)):
            flash(late, "caution")
        return redirect(url_for("batches.detail", record_id=shown.id), 303)
    batch = get_batch(record_id)
    page = render_template(
        "batches/act.html", section="grow", batch=batch, act=act, form=form, held=held_text(batch, act),
        young=young_text(batch) if act_name == "dispatch" else "",
        cancel_url=url_for("batches.detail", record_id=batch.id),
        **health_panel.of_act(batch, elsewhere=not {"bench_id", "onto_bench_id"}.isdisjoint(names)),
    )  # fmt: skip
    return (page, 422) if sent else page


def reverse_page(record_id: int, act: str) -> ResponseReturnValue:
    """Ask why an act is taken back, and take it back."""
    batch = get_batch(record_id)
    entries = [entry for entry in batches.read_ledger(db(), batch, limit=None) if entry.act == act]
    if not entries:
        abort(404)
    # Of a count that was reckoned anew, what stands.
    entries = [entry for entry in entries if entry.may_be_reversed] or entries
    sent = request.method == "POST"
    form = ActForm(request.form if sent else None, batch=batch, names=())
    del form["happened_on"]
    if sent and attempt(
        form,
        lambda: take_act_back(db(), actor(), act=act, reason=form.reason.data or "", today=today()),
    ):
        flash(_("It was taken back. Both entries stay in the ledger."), "ok")
        return redirect(url_for("batches.detail", record_id=record_id, _anchor="ledger"), 303)
    page = render_template(
        "batches/reverse.html", section="grow", batch=get_batch(record_id), entries=entries, form=form,
        kinds=KIND_LABELS, foreseen=[settled_text(one) for one in foreseen(db(), act)],
        cancel_url=url_for("batches.detail", record_id=record_id),
    )  # fmt: skip
    return (page, 422) if sent else page


def unsow_page(record_id: int) -> ResponseReturnValue:
    """Ask why a sowing is taken back, and give the seed back to its lot."""
    batch = get_batch(record_id)
    sent = request.method == "POST"
    form = ActForm(request.form if sent else None, batch=batch, names=())
    del form["happened_on"]
    if sent and attempt(
        form, lambda: batches.unsow(db(), actor(), batch=batch, reason=form.reason.data or "", today=today())
    ):
        flash(_("The sowing was taken back: the seed is in its lot again."), "ok")
        return redirect(url_for("batches.detail", record_id=record_id), 303)
    page = render_template(
        "batches/unsow.html", section="grow", batch=get_batch(record_id), form=form,
        cancel_url=url_for("batches.detail", record_id=record_id),
    )  # fmt: skip
    return (page, 422) if sent else page


def export_ledger(record_id: int, file_format: str) -> Response:
    """The whole ledger of a batch, newest first."""
    batch = get_batch(record_id)
    headings = [
        Heading(_("Day"), "date"), Heading(_("What")), Heading(_("Cause")), Heading(_("Change"), "number"),
        Heading(_("Alive"), "number"), Heading(_("Trays that went or came"), "number"),
        Heading(_("Other batch")), Heading(_("Planting site")), Heading(_("Person")), Heading(_("Remark")),
        Heading(_("Taken back")),
    ]  # fmt: skip
    rows: Iterator[list[Cell]] = (
        [
            entry.happened_on, str(KIND_LABELS[entry.kind]), str(CAUSE_LABELS[entry.cause]) if entry.cause else "",
            entry.change, entry.alive, entry.trays, entry.other_code or "", entry.site_name or "", entry.person,
            entry.reason, _("yes") if entry.reversed_by else "",
        ]
        for entry in batches.read_ledger(db(), batch, limit=None)
    )  # fmt: skip
    return send_table(_("Ledger of %(batch)s", batch=batch.code), headings, rows, file_format)


bp.add_url_rule("/batches", "list_page", lambda: pages.list_page(PAGES))
bp.add_url_rule(
    "/batches.<any(csv,xlsx):file_format>", "export", lambda file_format: pages.export(PAGES, file_format)
)
bp.add_url_rule("/batches/new", "new", sowing.new, methods=_BOTH)
bp.add_url_rule(_AT, "detail", lambda record_id: pages.detail(PAGES, record_id))
bp.add_url_rule(f"{_AT}/edit", "edit", lambda record_id: pages.edit(PAGES, record_id), methods=_BOTH)
for _verb, _done in (("archive", archive_batch), ("restore", records.restore)):
    bp.add_url_rule(
        f"{_AT}/{_verb}", _verb, lambda record_id, done=_done: pages.put(PAGES, record_id, done), methods=["POST"]
    )
bp.add_url_rule(f"{_AT}/count", "count", counting.count_page, methods=_BOTH)
bp.add_url_rule(
    f"{_AT}/counts/<int(max=2147483647):count_id>/withdraw", "withdraw", counting.withdraw_page, methods=_BOTH
)
bp.add_url_rule(f"{_AT}/merge", "merge", merging.merge_page, methods=_BOTH)
bp.add_url_rule(f"{_AT}/take-back/<act>", "reverse", reverse_page, methods=_BOTH)
bp.add_url_rule(f"{_AT}/unsow", "unsow", unsow_page, methods=_BOTH)
bp.add_url_rule(f"{_AT}/act/<act_name>", "act", act_page, methods=_BOTH)
bp.add_url_rule(f"{_AT}/ledger.<any(csv,xlsx):file_format>", "ledger_export", export_ledger)
bp.add_url_rule(f"{_AT}/labels", "labels", labels.labels_page)
bp.add_url_rule(f"{_AT}/labels.pdf", "labels_pdf", labels.labels_file)

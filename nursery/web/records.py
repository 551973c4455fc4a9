"""The pages of one kind of record, made from a description: list, new, detail, edit, archive, restore, export.

A noun declares a ``RecordPages`` and calls ``build``; its endpoints are ``<name>.list_page``, ``.new``,
``.detail``, ``.edit``, ``.archive``, ``.restore`` and ``.export``, with ``record_id`` where one record is meant.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlalchemy.orm.interfaces import ORMOption
from werkzeug.datastructures import CombinedMultiDict, MultiDict

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models.base import Record
from nursery.services import records
from nursery.services.listing import Listing
from nursery.web import outage
from nursery.web.forms import RecordForm
from nursery.web.history import describe_history
from nursery.web.listing import ListView, export_list, view_list
from nursery.web.paths import asked
from nursery.web.session import actor, db, today

#: Ids beyond this fit no database.
ID = "<int(max=2147483647):record_id>"


@dataclass(frozen=True)
class Words:
    """Whole sentences and headings of one noun."""

    list_title: LazyProxy
    new_title: LazyProxy
    new_button: LazyProxy
    #: Eyebrow of the record's own page: what kind of thing it is.
    noun: LazyProxy
    empty_title: LazyProxy
    empty_text: LazyProxy
    archive_text: LazyProxy
    list_lead: LazyProxy | str = ""


@dataclass(frozen=True)
class RecordPages:
    """Everything that tells one noun's pages from another's.

    ``create(session, actor, *, values, today)`` and ``change(session, actor, *, row, values, version, today)`` are
    services. ``facts(row, form)`` gives the rows of the detail page, the form's own when left out;
    ``context(row)`` adds names for a detail template of one's own, which extends ``records/detail.html``;
    ``list_context(listed)`` the same for the list. ``remarks(row)`` are sentences told after saving, with a tone.
    """

    name: str
    section: str
    model: type[Any]
    listing: Listing
    form: type[RecordForm]
    words: Words
    create: Callable[..., Record]
    change: Callable[..., Record]
    title: Callable[[Any], str]
    options: Sequence[ORMOption] = ()
    facts: Callable[[Any, RecordForm], Sequence[tuple[Any, ...]]] | None = None
    context: Callable[[Any], Mapping[str, Any]] = lambda _row: {}
    initial: Callable[[], Mapping[str, Any]] = dict
    detail_template: str = "records/detail.html"
    form_template: str = "records/form.html"
    list_template: str = "records/list.html"
    list_context: Callable[[ListView], Mapping[str, Any]] = lambda _listed: {}
    archive: Callable[..., Record] = records.archive
    restore: Callable[..., Record] = records.restore
    remarks: Callable[[Any], Sequence[tuple[str, str]]] = lambda _row: ()
    #: True lets the form take files.
    uploads: bool = False


_BUILT: dict[str, RecordPages] = {}


def pages_of(table: str) -> RecordPages | None:
    """The pages of the records of a table; None where a table has none of its own."""
    return _BUILT.get(table)


def build(pages: RecordPages) -> Blueprint:
    """The blueprint of a noun."""
    _BUILT[pages.model.__tablename__] = pages
    bp = Blueprint(pages.name, __name__)
    bp.add_url_rule(f"/{pages.name}", "list_page", lambda: list_page(pages))
    bp.add_url_rule(
        f"/{pages.name}.<any(csv,xlsx):file_format>", "export", lambda file_format: export(pages, file_format)
    )
    bp.add_url_rule(f"/{pages.name}/new", "new", lambda: new(pages), methods=["GET", "POST"])
    at = f"/{pages.name}/{ID}"
    bp.add_url_rule(at, "detail", lambda record_id: detail(pages, record_id))
    bp.add_url_rule(f"{at}/edit", "edit", lambda record_id: edit(pages, record_id), methods=["GET", "POST"])
    for verb, done in (("archive", pages.archive), ("restore", pages.restore)):
        bp.add_url_rule(
            f"{at}/{verb}", verb, lambda record_id, done=done: put(pages, record_id, done), methods=["POST"]
        )
    return bp


def list_page(pages: RecordPages) -> str:
    """The list."""
    listed = view_list(pages.listing, export=f"{pages.name}.export")
    return render_template(
        pages.list_template, section=pages.section, pages=pages, listed=listed, **pages.list_context(listed)
    )


def export(pages: RecordPages, file_format: str) -> Response:
    """The list as a file."""
    return export_list(pages.listing, str(pages.words.list_title), file_format)


def detail(pages: RecordPages, record_id: int) -> str:
    """One record with the history of its changes."""
    row = _get(pages, record_id)
    form = pages.form(obj=row, data=pages.form.stored(row))
    facts = pages.facts(row, form) if pages.facts else form_facts(row, form)
    return render_template(
        pages.detail_template,
        section=pages.section,
        pages=pages,
        row=row,
        title=pages.title(row),
        facts=facts,
        history=describe_history(db(), row, form),
        **pages.context(row),
    )


def new(pages: RecordPages) -> ResponseReturnValue:
    """The form for a new record, or its writing."""
    if request.method != "POST":
        return form_page(pages, pages.form(data=dict(pages.initial())))
    form = pages.form(_sent(pages))
    row = _try(form, lambda: pages.create(db(), actor(), values=form.values(), today=today()))
    return _saved(pages, row, form) if row else (form_page(pages, form), 422)


def edit(pages: RecordPages, record_id: int) -> ResponseReturnValue:
    """The form for an existing record, or its change; a conflict shows both versions and keeps the typing."""
    row = _get(pages, record_id)
    if request.method != "POST":
        return form_page(pages, pages.form(obj=row, data={**pages.form.stored(row), "version": row.version}), row)
    form = pages.form(_sent(pages), obj=row, data=pages.form.stored(row))
    try:
        saved = _try(
            form,
            lambda: pages.change(
                db(), actor(), row=row, values=form.values(), version=form.seen_version or 0, today=today()
            ),
        )
    except Conflict as conflict:
        db().rollback()
        return _conflict_page(pages, form, record_id, str(conflict))
    return _saved(pages, saved, form) if saved else (form_page(pages, form, _get(pages, record_id)), 422)


def put(pages: RecordPages, record_id: int, done: Callable[..., Record]) -> ResponseReturnValue:
    """Archive a record or bring it back; what the service refuses is told on the record's page."""
    try:
        row = done(db(), actor(), _get(pages, record_id))
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for(f"{pages.name}.detail", record_id=record_id), 303)
    told = (
        _("“%(name)s” was archived. Its history stays.", name=pages.title(row))
        if row.archived_at
        else _("“%(name)s” is back in the lists.", name=pages.title(row))
    )
    flash(told, "ok")
    return redirect(url_for(f"{pages.name}.detail", record_id=record_id), 303)


def form_facts(row: Any, form: RecordForm) -> list[tuple[Any, ...]]:
    """The record as the form shows it, label and value."""
    return [
        (field.label.text, form.fact(field.name, getattr(row, field.name, None)))
        for _group, lines in form.grouped()
        for line in lines
        for field in line
    ]


def _sent(pages: RecordPages) -> MultiDict[str, Any]:
    """What was typed, and the files beside it where the form takes some."""
    return CombinedMultiDict([request.files, request.form]) if pages.uploads else request.form


def _get(pages: RecordPages, record_id: int) -> Any:
    row = db().get(pages.model, record_id, options=list(pages.options))
    return row if row is not None else abort(404)


def _try(form: RecordForm, write: Callable[[], Record]) -> Record | None:
    """Write if the form is sound; None, and the reasons at their fields, if it or the service refuses."""
    if not form.validate():
        return None
    try:
        return write()
    except Invalid as refused:
        db().rollback()  # the page is drawn from the database, not from half-made changes
        form.refuse(refused.errors)
    except IntegrityError:
        db().rollback()
        form.form_errors.append(
            _("Somebody wrote the same thing down at this very moment. Check the list, then save again.")
        )
    except OperationalError as error:
        db().rollback()
        form.form_errors.append(outage.busy(error))
    return None


def _saved(pages: RecordPages, row: Record, form: RecordForm) -> ResponseReturnValue:
    flash(_("“%(name)s” was saved.", name=pages.title(row)), "ok")
    for told in form.understood():
        flash(told, "info")
    for told, tone in pages.remarks(row):
        flash(told, tone)
    return redirect(asked(url_for(f"{pages.name}.detail", record_id=row.id)), 303)


def form_page(pages: RecordPages, form: RecordForm, row: Any = None, **more: Any) -> str:
    """The form of a new record, or of ``row``; ``more`` are names for its template."""
    title = _("Change %(name)s", name=pages.title(row)) if row is not None else str(pages.words.new_title)
    cancel = (
        url_for(f"{pages.name}.detail", record_id=row.id)
        if row is not None
        else url_for(f"{pages.name}.list_page")
    )
    return render_template(
        pages.form_template, section=pages.section, pages=pages, form=form, title=title, cancel_url=cancel, **more
    )


def _conflict_page(pages: RecordPages, form: RecordForm, record_id: int, message: str) -> ResponseReturnValue:
    """The form as typed beside what the other person wrote; saving again is then a choice."""
    row = _get(pages, record_id)
    theirs = pages.form(obj=row, data=pages.form.stored(row))
    compared = [
        (field.label.text, form.show(name, field.data), theirs.show(name, other.data))
        for name, field in form._fields.items()
        if name != "version" and field.data != (other := theirs[name]).data
    ]
    form.version.raw_data = [str(row.version)]
    form.version.data = str(row.version)
    return form_page(pages, form, row, conflict=message, compared=compared), 409

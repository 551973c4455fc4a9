"""List and page of species, and the form for a figure of one's own."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug import Response as BaseResponse

from nursery.catalog import caution_text
from nursery.catalog.vocabulary import METHODS, STORAGE_LABELS
from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.species import (
    FigureView,
    SpeciesQuery,
    SpeciesRow,
    SpeciesView,
    list_species,
    read_species,
    set_figure,
    take_back_figure,
)
from nursery.services.species.labels import figure_label, value_text
from nursery.services.species.listing import COLUMNS as FILE_COLUMNS
from nursery.tabular.writer import CellKind, Heading
from nursery.web.listing import send_table
from nursery.web.session import actor, db
from nursery.web.species.forms import figure_form, typed_value
from nursery.web.species.showing import FILTERS, anchor, chapters, history_lines, species_cautions

bp = Blueprint("species", __name__)
for _name, _filter in FILTERS.items():
    bp.add_app_template_filter(_filter, _name)

COLUMNS = ("name", "common", "storage", "method", "protocols", "own")
_FORMS: dict[str, tuple[CellKind, int | None]] = {
    "tsw": ("number", 4), "protocols": ("number", 0), "own_figures": ("number", 0),
}  # fmt: skip
_WIDTHS = {
    "scientific_name": 32, "authorship": 20, "family": 18, "common_name": 24, "storage": 18, "method": 30,
    "collected": 28, "tsw": 16, "protocols": 16, "own_figures": 16,
}  # fmt: skip


@bp.get("/species")
def list_page() -> str:
    """The catalogue as a list."""
    asked = _asked()
    rows = list_species(db(), asked)
    return render_template(
        "species/list.html",
        section="species",
        rows=rows,
        asked=asked,
        columns=[_head(key, asked) for key in COLUMNS],
        storage_options=[(key, str(label)) for key, label in STORAGE_LABELS.items()],
        method_options=[(key, str(label)) for key, label in METHODS.items()],
        exports=[(name.upper(), url_for(".export", file_format=name, **_kept(asked))) for name in ("csv", "xlsx")],
    )


@bp.get("/species.<any(csv,xlsx):file_format>")
def export(file_format: str) -> Response:
    """The list as a file."""
    headings = [
        Heading(f"{label} ({unit})" if unit else str(label), *_FORMS.get(key, ("text", None)), width=_WIDTHS[key])
        for key, label, unit in FILE_COLUMNS
    ]
    return send_table(_("Species"), headings, map(_cells, list_species(db(), _asked())), file_format)


def _cells(row: SpeciesRow) -> list[str | float]:
    entry = row.entry
    return [
        entry.scientific_name,
        entry.authorship,
        entry.family,
        row.common_name,
        row.storage,
        row.method,
        row.collected,
        entry.seed.thousand_seed_weight_g,
        len(entry.protocols),
        row.own_figures,
    ]


@bp.get("/species/<record_id>")
def detail(record_id: str) -> ResponseReturnValue:
    """All that the catalogue and the nursery hold of one species; an id leads to the page of its key."""
    view = read_species(db(), record_id)
    if record_id != view.row.key:
        return redirect(url_for(".detail", record_id=view.row.key))
    return render_template(
        "species/detail.html",
        section="species",
        view=view,
        entry=view.entry,
        figures=view.figures,
        cautions=[caution_text(key) for key in species_cautions(view.entry)],
        chapters=chapters(view.entry),
        history=history_lines(view),
        outdated=[
            (figure_label(one.figure), one.figure, value_text(one.figure, _shown(one.value)))
            for one in view.outdated
        ],
    )


def _shown(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


@bp.route("/species/<record_id>/figures/<figure>", methods=["GET", "POST"])
def change_figure(record_id: str, figure: str) -> ResponseReturnValue:
    """The form for one figure of one's own, or its writing."""
    view = read_species(db(), record_id)
    shown = _figure(view, figure)
    if request.method != "POST":
        return _figure_page(view, shown, figure_form(shown))
    form = figure_form(shown, request.form)
    if form.validate():
        try:
            set_figure(
                db(),
                actor(),
                key=view.row.key,
                figure=figure,
                value=typed_value(shown, form),
                reason=form.reason.data or "",
            )
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            return _done(view, figure, _("%(figure)s is now this nursery’s own.", figure=shown.label))
    return _figure_page(view, shown, form), 422


@bp.post("/species/<record_id>/figures/<figure>/take-back")
def take_back(record_id: str, figure: str) -> ResponseReturnValue:
    """Go back to the catalogue's figure."""
    view = read_species(db(), record_id)
    take_back_figure(db(), actor(), key=view.row.key, figure=figure)
    label, shown = figure_label(figure), view.figures.get(figure)
    if shown is not None and shown.fallback.learned:
        return _done(view, figure, _("%(figure)s follows the batches seen here again.", figure=label))
    return _done(view, figure, _("%(figure)s follows the catalogue again.", figure=label))


def _figure(view: SpeciesView, path: str) -> FigureView:
    return view.figures.get(path) or abort(404, _("This species has no such figure."))


def _figure_page(view: SpeciesView, shown: FigureView, form: object) -> str:
    protocol = shown.path.split(".")[1] if shown.path.startswith("protocols.") else ""
    return render_template(
        "species/figure.html",
        section="species",
        view=view,
        figure=shown,
        form=form,
        protocol=view.entry.protocol(protocol) if protocol else None,
    )


def _done(view: SpeciesView, path: str, told: str) -> BaseResponse:
    flash(told, "ok")
    return redirect(url_for(".detail", record_id=view.row.key, _anchor=anchor(path)), 303)


def _asked() -> SpeciesQuery:
    args = request.args
    return SpeciesQuery(
        q=args.get("q", "").strip()[:200],
        storage=args.get("storage", ""),
        method=args.get("method", ""),
        own=args.get("own") == "1",
        sort=args.get("sort", "name"),
    )


def _kept(asked: SpeciesQuery, **changes: str) -> dict[str, Any]:
    """The address that asks the same."""
    own = "1" if asked.own else ""
    kept = {"q": asked.q, "storage": asked.storage, "method": asked.method, "own": own, "sort": asked.sort}
    return {name: value for name, value in {**kept, **changes}.items() if value}


def _head(key: str, asked: SpeciesQuery) -> dict[str, object]:
    labels = {
        "name": _("Scientific name"),
        "common": _("Common name"),
        "storage": _("Storage class"),
        "method": _("Usual method"),
        "protocols": _("Protocols"),
        "own": _("Own figures"),
    }
    down, up = asked.sort == f"-{key}", asked.sort == key
    return {
        "label": labels[key],
        "numeric": key in {"protocols", "own"},
        "url": url_for(".list_page", **_kept(asked, sort=f"-{key}" if up else key)),
        "sorted": "descending" if down else "ascending" if up else None,
    }

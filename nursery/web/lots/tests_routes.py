"""Recording a seed test and withdrawing one; the forecast of a lot as a picture."""

from __future__ import annotations

from typing import Any

from flask import Response, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.lots import Material
from nursery.models.seed_tests import TestKind
from nursery.services.records import get
from nursery.services.seed_tests import (
    KIND_LABELS,
    get_test,
    record_test,
    result_text,
    used_up,
    verdict_text,
    withdraw_test,
)
from nursery.web.lots.keeping import keeping_of
from nursery.web.lots.pages import bp
from nursery.web.lots.tests_forms import FORMS, TestForm
from nursery.web.paths import asked
from nursery.web.pictures import send_picture
from nursery.web.records import ID
from nursery.web.session import actor, db, today

_KINDS = f"<any({','.join(kind.value for kind in TestKind)}):kind>"


@bp.route(f"/lots/{ID}/tests/new/{_KINDS}", methods=["GET", "POST"])
def new_test(record_id: int, kind: str) -> ResponseReturnValue:
    """The form of a test, or its writing; a refused test is written too and says why it rules nothing."""
    lot, wanted = get(db(), Lot, record_id), TestKind(kind)
    if lot.material is Material.CUTTINGS:
        flash(_("Cuttings are not tested as seed. Their rooting is typed on the lot itself."), "stop")
        return redirect(url_for("lots.detail", record_id=record_id), 303)
    make = FORMS[wanted]
    if request.method != "POST":
        return _form_page(lot, wanted, make(data={"tested_on": today(), "seeds": 100}))
    form = make(request.form)
    test = _write(lot, wanted, form) if form.validate() else None
    if test is None:
        return _form_page(get(db(), Lot, record_id), wanted, form), 422
    told = f"{KIND_LABELS[test.kind]}: {result_text(test)}. {verdict_text(test)}"
    flash(told, "ok" if test.is_accepted else "caution")
    return redirect(asked(url_for("lots.detail", record_id=record_id, _anchor="tests")), 303)


@bp.post(f"/lots/{ID}/tests/<int(max=2147483647):test_id>/withdraw")
def withdraw(record_id: int, test_id: int) -> ResponseReturnValue:
    """Withdraw a test, with the reason."""
    lot = get(db(), Lot, record_id)
    try:
        withdraw_test(db(), actor(), test=get_test(db(), lot, test_id), reason=request.form.get("reason", ""))
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
    else:
        flash(_("The test was withdrawn. It stays to be seen, and rules nothing."), "ok")
    return redirect(url_for("lots.detail", record_id=record_id, _anchor="tests"), 303)


@bp.get(f"/lots/{ID}/keeping.svg")
def keeping(record_id: int) -> Response:
    """The forecast of a lot as a picture."""
    lot = get(db(), Lot, record_id)
    found = keeping_of(lot)
    if found is None:
        raise NotFound(_("The catalogue does not know this species, so there is no forecast."))
    narrow = request.args.get("narrow") == "1"
    return send_picture(
        lambda: found.draw(narrow=narrow), found.title, found.curve, found.points, found.marks, narrow
    )


def _write(lot: Lot, kind: TestKind, form: TestForm) -> SeedTest | None:
    """The test, or None with the reasons at their fields."""
    day = form.tested_on.data or today()  # never empty: the field is needed
    try:
        return record_test(
            db(), actor(), lot=lot, kind=kind, tested_on=day, readings=form.readings(),
            today=today(), taken=used_up(lot, form.taken.data or 0), **form.more(),
        )  # fmt: skip
    except Invalid as refused:
        db().rollback()
        form.refuse(refused.errors)
    return None


def _form_page(lot: Lot, kind: TestKind, form: Any) -> str:
    form.taken.unit = _("pieces") if lot.amount_mg is None else _("g")
    return render_template(
        "lots/test_form.html",
        section="seed",
        form=form,
        row=lot,
        title=_("%(test)s of %(lot)s", test=KIND_LABELS[kind], lot=lot.code),
        cancel_url=asked(url_for("lots.detail", record_id=lot.id)),
    )

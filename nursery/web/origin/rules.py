"""Sets of rules: the list, one set with its versions, a new version, a new set."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import RuleSet, RuleVersion
from nursery.services import records
from nursery.services.origin import words
from nursery.services.origin.rule_sets import (
    add_version,
    archive_set,
    changed_rules,
    count_sites,
    create_set,
    default_rules,
    list_sets,
)
from nursery.web.history import describe_history
from nursery.web.origin.forms import RulesForm
from nursery.web.origin.pages import bp
from nursery.web.session import actor, db, today

_SET = "/origin/rules/<int(max=2147483647):rule_set_id>"


@bp.get("/origin/rules")
def rule_sets() -> str:
    """All sets in use."""
    counted = count_sites(db())
    sets = [(one, _in_force(one), counted.get(one.id, 0)) for one in list_sets(db())]
    named = {one.id for one, _version, _number in sets}
    rest = sum(number for key, number in counted.items() if key not in named)
    return render_template("origin/rules.html", section="plan", sets=sets, rest=rest)


@bp.get(_SET)
def rule_set(rule_set_id: int) -> str:
    """One set: what holds today, and every version with what it changed."""
    row = records.get(db(), RuleSet, rule_set_id)
    versions = list(row.versions)
    asked = request.args.get("version", "")
    shown = next((one for one in versions if str(one.id) == asked), None) or _in_force(row) or versions[-1]
    before = {one.id: earlier for earlier, one in zip([None, *versions], versions, strict=False)}
    changes = [
        (one, [] if earlier is None else changed_rules(earlier.rules, one.rules))
        for one in reversed(versions)
        for earlier in [before[one.id]]
    ]
    return render_template(
        "origin/rule_set.html",
        section="plan",
        row=row,
        shown=shown,
        in_force=_in_force(row),
        changes=changes,
        history=describe_history(db(), row, RulesForm()),
        words=words,
        told=_told(shown),
    )


@bp.route("/origin/rules/new", methods=["GET", "POST"])
def new_set() -> ResponseReturnValue:
    """A further set, filled with the rules that sites without one follow."""
    base = next((version.rules for one in list_sets(db()) if (version := _in_force(one))), default_rules())
    if request.method != "POST":
        return _form(None, RulesForm(data={**RulesForm.stored(base), "valid_from": today()}))
    form = RulesForm(request.form)
    if form.validate():
        try:
            made = create_set(
                db(), actor(), name=form["name"].data, valid_from=form.valid_from.data, rules=form.rules(base),
                reason=form.reason.data,
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("“%(name)s” was saved. Sites follow it once they name it.", name=made.name), "ok")
            return redirect(url_for("origin.rule_set", rule_set_id=made.id), 303)
    return _form(None, form), 422


@bp.route(f"{_SET}/versions/new", methods=["GET", "POST"])
def new_version(rule_set_id: int) -> ResponseReturnValue:
    """What the set says from a day on."""
    row = records.get(db(), RuleSet, rule_set_id)
    base = row.versions[-1].rules if row.versions else default_rules()
    if request.method != "POST":
        return _form(row, RulesForm(data={**RulesForm.stored(base), "name": row.name, "valid_from": today()}))
    form = RulesForm(request.form, data={"name": row.name})
    form["name"].data, form["name"].raw_data = row.name, [row.name]
    if form.validate():
        try:
            add_version(
                db(), actor(), rule_set=row, valid_from=form.valid_from.data, rules=form.rules(base),
                reason=form.reason.data,
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("The new version was saved. What held before stays readable."), "ok")
            return redirect(url_for("origin.rule_set", rule_set_id=rule_set_id), 303)
    return _form(records.get(db(), RuleSet, rule_set_id), form), 422


@bp.post(f"{_SET}/archive")
def archive_rules(rule_set_id: int) -> ResponseReturnValue:
    """Put a set aside that nobody follows."""
    row = records.get(db(), RuleSet, rule_set_id)
    try:
        archive_set(db(), actor(), rule_set=row)
    except Invalid as refused:
        db().rollback()
        flash(str(refused), "stop")
        return redirect(url_for("origin.rule_set", rule_set_id=rule_set_id), 303)
    flash(_("“%(name)s” was archived. Plans that followed it keep their verdicts.", name=row.name), "ok")
    return redirect(url_for("origin.rule_sets"), 303)


def _in_force(row: RuleSet) -> RuleVersion | None:
    return next((one for one in reversed(row.versions) if one.valid_from <= today()), None)


def _told(version: RuleVersion) -> list[dict[str, Any]]:
    """The rules of a version as rows of a table."""
    return [words.tell_rule(rule, terms) for rule, terms in version.rules.items()]


def _form(row: RuleSet | None, form: Any) -> str:
    return render_template("origin/rules_form.html", section="plan", row=row, form=form)

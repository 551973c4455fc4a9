"""What a site follows: its rules and its strategy."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import format_percent
from nursery.i18n import gettext as _
from nursery.models import Site
from nursery.planning.origin.strategies import PRESETS, Terms
from nursery.planning.origin.words import StrategyKind
from nursery.services import records
from nursery.services.origin.gathering import terms_of
from nursery.services.origin.rule_sets import follow_set
from nursery.services.origin.strategies import drop_strategy, every_strategy, find_strategy, set_strategy
from nursery.services.origin.words import KIND_LABELS, KIND_TEXTS, tell_shares
from nursery.web.history import describe_history
from nursery.web.origin.forms import StrategyForm
from nursery.web.origin.pages import SITE, bp
from nursery.web.session import actor, db


@bp.route(f"/origin/sites/{SITE}/strategy", methods=["GET", "POST"])
def strategy(site_id: int) -> ResponseReturnValue:
    """Choose rules and strategy."""
    site = records.get(db(), Site, site_id)
    if request.method != "POST":
        return _page(site, StrategyForm(data=_filled(site)))
    form = StrategyForm(request.form, data={"rule_set_id": site.rule_set_id})
    if form.validate():
        try:
            follow_set(db(), actor(), site=site, rule_set_id=form.rule_set_id.data)
            set_strategy(db(), actor(), site=site, values=form.values())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        except Conflict as conflict:
            db().rollback()
            form.form_errors.append(str(conflict))
        else:
            flash(_("Rules and strategy of “%(name)s” were saved.", name=site.name), "ok")
            return redirect(url_for("sites.detail", record_id=site_id), 303)
    return _page(records.get(db(), Site, site_id), form), 422


@bp.post(f"/origin/sites/{SITE}/strategy/drop")
def drop(site_id: int) -> ResponseReturnValue:
    """Take the site's own region again, without a strategy."""
    site = records.get(db(), Site, site_id)
    drop_strategy(db(), actor(), site=site)
    flash(_("“%(name)s” has no strategy of its own now; it takes its region.", name=site.name), "ok")
    return redirect(url_for("sites.detail", record_id=site_id), 303)


def origin_of_site(site: Site) -> dict[str, Any]:
    """What the site's own page shows of rules and strategy."""
    row = find_strategy(db(), site.id)
    return {
        "rule_set": site.rule_set,
        "kind": str(KIND_LABELS[row.kind]) if row else str(KIND_LABELS[StrategyKind.REGION]),
        "text": str(KIND_TEXTS[row.kind if row else StrategyKind.REGION]),
        "own": row is not None,
        "terms": tell_terms(terms_of(row)) if row else [],
    }


def tell_terms(terms: Terms) -> list[str]:
    """Terms of a strategy as short sentences."""
    told = [tell_shares(terms.shares)] if terms.shares else []
    if terms.shares and terms.kind is not StrategyKind.STRICT:
        told.append(_("each within %(tolerance)s", tolerance=format_percent(terms.tolerance, 1)))
    if terms.least_populations > 1:
        told.append(_("at least %(number)s populations", number=terms.least_populations))
    if terms.population_cap is not None:
        told.append(_("one population at most %(cap)s", cap=format_percent(terms.population_cap, 1)))
    if terms.family_cap is not None:
        told.append(_("one mother's family at most %(cap)s", cap=format_percent(terms.family_cap, 1)))
    if terms.least_mothers is not None:
        told.append(_("at least %(number)s effective mothers", number=f"{terms.least_mothers:g}"))
    return told


def _filled(site: Site) -> dict[str, Any]:
    """The form's values: those of the usual terms asked for, else the site's own."""
    asked = request.args.get("kind", "")
    row = find_strategy(db(), site.id)
    own = terms_of(row) if row else Terms()
    terms = PRESETS[StrategyKind(asked)] if asked in set(StrategyKind) else own
    return {**asdict(terms), **terms.shares, "rule_set_id": site.rule_set_id}


def _page(site: Site, form: StrategyForm) -> str:
    return render_template(
        "origin/strategy.html",
        section="plant",
        site=site,
        form=form,
        own=find_strategy(db(), site.id) is not None,
        history=[
            entry for row in every_strategy(db(), site.id) for entry in describe_history(db(), row, StrategyForm())
        ],
        presets=[
            (kind.value, str(KIND_LABELS[kind]), str(KIND_TEXTS[kind]), ", ".join(tell_terms(terms)))
            for kind, terms in PRESETS.items()
        ],
    )

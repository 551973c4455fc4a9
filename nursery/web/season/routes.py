"""The home page."""

from __future__ import annotations

from flask import Blueprint, render_template
from markupsafe import Markup

from nursery.i18n import gettext as _
from nursery.services.need_words import origin_text
from nursery.services.permits.glance import glance_at_permits
from nursery.services.planning.words import STATUS
from nursery.services.season import ROWS, FirstSteps, first_steps, glance_at_season
from nursery.services.season_report.scope import last_season
from nursery.web.health.panels import of_season
from nursery.web.links import address, line_address
from nursery.web.season import parts
from nursery.web.session import db, today

bp = Blueprint("season", __name__)


@bp.get("/")
def home() -> str:
    """The season at a glance; before there is a plan, the way to one."""
    glance = glance_at_season(db(), today=today())
    if glance is None:
        done = first_steps(db())
        action = (
            (_("Make the first plan"), address("plans.list_page"))
            if done.targets
            else (_("Import a table"), address("imports.index"))
        )
        return render_template("season/start.html", section="season", steps=_steps(done), action=action)
    return render_template(
        "season/home.html",
        section="season",
        glance=glance,
        rows=ROWS,
        statuses=STATUS,
        address=address,
        line_address=line_address,
        need_origin=origin_text,
        report_season=last_season(today()),
        permits_glance=glance_at_permits(db(), today=today()),
        **parts.context(),
        **of_season(),
    )


def _steps(done: FirstSteps) -> list[Markup]:
    """The first five steps, each linked, each marked where something is recorded already."""
    steps = (
        (done.sites, _("Write down your planting sites, or import them"), "sites.list_page"),
        (done.containers, _("Write down your nursery and its trays"), "nurseries.list_page"),
        (done.populations and done.lots, _("Bring in your populations and seed lots"), "imports.index"),
        (
            done.targets,
            _("Set the targets: what is to be planted where, and in which season"),
            "targets.list_page",
        ),
        (False, _("Make the plan, adopt it, and print the first sowing list"), "plans.list_page"),
    )
    return [_step(is_done, text, address(endpoint)) for is_done, text, endpoint in steps]


def _step(is_done: bool, text: str, url: str) -> Markup:
    link = Markup('<a href="{}">{}</a>').format(url, text) if url else Markup("{}").format(text)
    return Markup('{} <span class="muted">({})</span>').format(link, _("begun")) if is_done else link

"""What templates may call: numbers, dates and words in the reader's language."""

from __future__ import annotations

from flask import Flask, current_app

from nursery import __version__, i18n
from nursery.services.seasons import season_name
from nursery.web.cells import table_rows
from nursery.web.discretion import sees_private, shown_people, shown_place
from nursery.web.session import today


def register(app: Flask) -> None:
    """Filters, globals and the values every page has."""
    env = app.jinja_env
    env.trim_blocks = env.lstrip_blocks = True
    env.add_extension("jinja2.ext.i18n")
    env.install_gettext_callables(  # type: ignore[attr-defined]
        i18n.gettext, i18n.ngettext, newstyle=False
    )
    env.globals["_"] = i18n.gettext
    env.globals["ngettext"] = i18n.ngettext
    env.globals.update(
        sees_private=sees_private, shown_place=shown_place, shown_people=shown_people, table_rows=table_rows
    )
    env.filters.update(
        number=i18n.format_number,
        money=i18n.format_money,
        percent=i18n.format_percent,
        date=i18n.format_date,
        day=i18n.format_day,
        moment=i18n.format_moment,
        month=i18n.month_name,
        short_day=i18n.format_short_day,
        span=lambda days: i18n.format_span(*days),
        season=season_name,
    )

    @app.context_processor
    def every_page() -> dict[str, object]:
        return {
            "locale": i18n.current_locale(),
            "demo": current_app.config["NURSERY"].demo,
            "today": today(),
            "product_version": __version__,
        }

"""``nursery demo``: the demo season, loaded, planned and served."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import click

from nursery.cli.serving import port_option, serve_pages
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: Days after which the demo's dates are stale.
KEEPS_DAYS = 7


@click.command(help=_("Load an invented season, plan it, show the plan in short and serve the pages."))
@port_option
@click.option("--no-serve", is_flag=True, help=_("Only prepare the database."))
@click.option("--fresh", is_flag=True, help=_("Make the demo season anew, whatever was changed in it."))
def demo(port: int, no_serve: bool, fresh: bool) -> None:
    """Prepare, summarise, serve."""
    from nursery.cli.opening import day, demo_settings, place_of, prepared  # noqa: PLC0415 -- slow import
    from nursery.cli.summary import season_summary  # noqa: PLC0415 -- slow import

    settings, today = demo_settings(), day()
    with prepared(settings) as session:
        place = place_of(session)
        click.echo(_("Demo season of an invented river basin. Database: %(place)s", place=place))
        if fresh or is_stale(session, today):
            load_and_plan(session, settings.person, today)
        click.echo(season_summary(session, today))
    if not no_serve:
        serve_pages(settings, port)


def is_stale(session: Session, today: dt.date) -> bool:
    """Whether there is no demo season yet, one of another week, or one from before there were accounts."""
    from nursery.services.accounts.people import has_accounts  # noqa: PLC0415 -- slow import
    from nursery.services.demo import demo_day  # noqa: PLC0415 -- slow import

    loaded = demo_day(session)
    return loaded is None or abs((today - loaded).days) >= KEEPS_DAYS or not has_accounts(session)


def load_and_plan(session: Session, person: str, today: dt.date) -> None:
    """The demo season with its plan, reckoned and adopted."""
    from nursery.services.demo import load_demo  # noqa: PLC0415 -- slow import
    from nursery.services.planning import adopt_plan, make_plan  # noqa: PLC0415 -- slow import

    load_demo(session, person, today=today)
    plan = make_plan(session, person, today=today, label=_("First plan of the demo season"))
    adopt_plan(session, person, plan_id=plan.id)

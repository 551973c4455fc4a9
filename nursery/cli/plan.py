"""``nursery plan``: the plan in force."""

from __future__ import annotations

import json

import click

from nursery.cli.group import Trouble
from nursery.i18n import gettext as _


@click.command(help=_("Show the plan in force: in short, or whole as JSON."))
@click.option("--json", "as_json", is_flag=True, help=_("All lines as one JSON object."))
@click.option("--new", is_flag=True, help=_("Reckon a new plan from the records as they are now, and adopt it."))
def plan(as_json: bool, new: bool) -> None:
    """Print the adopted plan."""
    from nursery.cli.opening import current_settings, day, transaction  # noqa: PLC0415 -- slow import
    from nursery.services import planning  # noqa: PLC0415 -- slow import

    settings, today = current_settings(), day()
    with transaction(settings) as session:
        if new:
            made = planning.make_plan(session, settings.person, today=today, label=_("Made at the command line"))
            planning.adopt_plan(session, settings.person, plan_id=made.id)
        if as_json:
            found = planning.current_plan(session)
            if found is None:
                raise Trouble(_("There is no plan in force yet. Make one with “nursery plan --new”."))
            click.echo(json.dumps(planning.plan_as_data(session, found), ensure_ascii=False, indent=1))
        else:
            from nursery.cli.summary import season_summary  # noqa: PLC0415 -- not needed for JSON

            click.echo(season_summary(session, today))

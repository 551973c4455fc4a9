"""``nursery catalog``: the species catalogue."""

from __future__ import annotations

from pathlib import Path

import click

from nursery import resources
from nursery.i18n import gettext as _
from nursery.i18n import ngettext


@click.group(help=_("Work with the species catalogue."))
def catalog() -> None:
    """Commands on the catalogue's files."""


@catalog.command(help=_("Check the shipped catalogue, or the files of FOLDER; exit code 1 on a fault."))
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path), required=False)
@click.pass_context
def check(ctx: click.Context, folder: Path | None) -> None:
    """Name every fault of the files."""
    from nursery.catalog.checking import check as check_folder  # noqa: PLC0415 -- slow import

    folder = folder or resources.seed_catalog()
    faults = check_folder(folder)
    for fault in faults:
        click.echo(str(fault))
    if faults:
        click.echo(ngettext("%(num)s fault was found.", "%(num)s faults were found.", len(faults)), err=True)
        ctx.exit(1)
    count = len(list((folder / "species").glob("*.toml")))
    click.echo(ngettext("%(num)s species, no fault.", "%(num)s species, no fault.", count))

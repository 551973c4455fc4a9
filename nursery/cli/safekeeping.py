"""``nursery backup``, ``nursery restore`` and ``nursery move``: the whole database, out, back and over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from nursery.config import read_settings
from nursery.i18n import format_number
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from nursery.services.safekeeping import Manifest


@click.command(help=_("Write everything in the database to FILE, checked; the pages may be in use meanwhile."))
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def backup(file: Path) -> None:
    """Write an archive."""
    from nursery.cli.opening import current_settings, found, place_of  # noqa: PLC0415 -- slow import
    from nursery.services.safekeeping import back_up  # noqa: PLC0415 -- slow import

    with found(current_settings()) as engine:
        manifest = back_up(engine, file)
        click.echo(
            _("Backed up %(place)s to %(file)s and read it back.", place=place_of(engine), file=file)
            + "\n"
            + told(manifest)
        )


@click.command(
    help=_("Bring a backup back into the database of your settings; what stands there is not overwritten.")
)
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--replace", is_flag=True, help=_("Put the backup in the place of what is there."))
def restore(file: Path, replace: bool) -> None:
    """Bring an archive back."""
    from nursery.services.safekeeping import restore as bring_back  # noqa: PLC0415 -- slow import

    restored = bring_back(file, read_settings().database_url, replace=replace)
    click.echo(_("Brought back from %(file)s, and compared.", file=file) + "\n" + told(restored.manifest))
    if restored.kept is not None:
        click.echo(_("What stood there before is kept as %(file)s.", file=restored.kept))


@click.command(help=_("Move everything into the empty database at ADDRESS, as from SQLite to PostgreSQL."))
@click.argument("address")
def move(address: str) -> None:
    """Bring everything over and compare."""
    from nursery.cli.opening import current_settings, found, place_of  # noqa: PLC0415 -- slow import
    from nursery.database import make_engine  # noqa: PLC0415 -- slow import
    from nursery.services.safekeeping import move as bring_over  # noqa: PLC0415 -- slow import

    there = make_engine(address)
    place = place_of(there)
    there.dispose()
    with found(current_settings()) as engine:
        manifest = bring_over(engine, address)
        click.echo(
            _("Moved %(place)s to %(other)s, and compared.", place=place_of(engine), other=place)
            + "\n"
            + told(manifest)
        )
    click.echo(_("From now on set NURSERY_DATABASE_URL to the new address. What was moved from stays as it was."))


def told(manifest: Manifest) -> str:
    """What an archive holds, in a line to be compared."""
    return _(
        "%(rows)s rows in %(tables)s tables, fingerprint %(fingerprint)s",
        rows=format_number(manifest.rows),
        tables=format_number(len(manifest.tables)),
        fingerprint=manifest.fingerprint,
    )

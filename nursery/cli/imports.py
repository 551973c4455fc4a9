"""``nursery import``: a CSV or XLSX file, looked at first, then written whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from nursery.services.importing import Finding, Preview

KINDS = ("populations", "sites", "lots", "targets", "plantings")
#: Refusals shown; the rest are counted.
MOST_FINDINGS = 40


@click.command(
    help=_("Import populations, sites, lots, targets or plantings from FILE (CSV or XLSX), all rows or none.")
)
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--yes", is_flag=True, help=_("Write without asking, provided that no row is refused."))
@click.pass_context
def import_file(ctx: click.Context, kind: str, file: Path, yes: bool) -> None:
    """Preview, ask, write."""
    from nursery.cli.opening import day, prepared  # noqa: PLC0415 -- slow import
    from nursery.config import read_settings  # noqa: PLC0415 -- slow import
    from nursery.services import importing  # noqa: PLC0415 -- slow import

    settings, today = read_settings(), day()
    with prepared(settings) as session:
        upload = importing.keep_upload(
            session, settings.person, kind=kind, file_name=file.name, content=file.read_bytes()
        )
        preview = importing.preview_upload(session, upload_id=upload.id, today=today)
        tell(preview)
        if preview.refused:
            click.echo(_("Nothing was written. Correct these rows and import the file again."), err=True)
            ctx.exit(2)
        if not preview.writes:
            click.echo(_("Everything in this file is on record already."))
        elif yes or click.confirm(_("Write these records?")):
            importing.confirm(session, settings.person, upload_id=upload.id, today=today, seen=preview.fingerprint)
            click.echo(_("Written."))
        else:
            click.echo(_("Nothing was written."))


def tell(preview: Preview) -> None:
    """What the file would do, and each refused row with its reason."""
    for column in preview.missing:
        click.echo(_("The column “%(column)s” is missing.", column=str(column.label)))
    ignored = [
        heading for heading, key in zip(preview.headings, preview.mapping, strict=True) if heading and not key
    ]
    if ignored:
        click.echo(_("Columns that are left out: %(columns)s", columns=", ".join(ignored)))
    click.echo(
        _(
            "%(rows)s rows: %(new)s new, %(changed)s changed, %(unchanged)s unchanged, %(refused)s refused",
            rows=format_number(preview.rows),
            new=format_number(preview.new),
            changed=format_number(preview.changed),
            unchanged=format_number(preview.unchanged),
            refused=format_number(preview.refused),
        )
    )
    tell_findings(preview.findings)


def tell_findings(findings: Sequence[Finding]) -> None:
    """Row, column, value and reason, each on a line."""
    for finding in findings[:MOST_FINDINGS]:
        click.echo(
            _(
                "  row %(row)s, %(column)s, “%(value)s”: %(reason)s",
                row=finding.row,
                column=finding.column or "–",
                value=finding.value,
                reason=finding.reason,
            )
        )
    more = len(findings) - MOST_FINDINGS
    if more > 0:
        click.echo("  " + ngettext("and %(num)s more", "and %(num)s more", more))

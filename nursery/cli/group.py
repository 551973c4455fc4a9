"""A group that loads its commands late and answers every mishap in plain words with exit code 2."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click

from nursery.cli.output import keep_output_clean
from nursery.errors import Invalid, NurseryError
from nursery.i18n import gettext as _
from nursery.i18n import set_locale


class Trouble(click.ClickException):
    """A mishap in words a person can act on."""

    exit_code = 2


class LazyGroup(click.Group):
    """Commands by module and attribute, imported when they are asked for."""

    def __init__(self, *args: Any, commands_at: Mapping[str, str], **options: Any) -> None:
        super().__init__(*args, **options)
        self.commands_at = dict(commands_at)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All commands, in the order of a first day's work."""
        return [*self.commands_at, *super().list_commands(ctx)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, imported now."""
        where = self.commands_at.get(cmd_name)
        if where is None:
            return super().get_command(ctx, cmd_name)
        module, attribute = where.split(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def main(self, *args: Any, **options: Any) -> Any:
        """Speak the person's language, in UTF-8 whatever the terminal says, and nothing but the answer."""
        keep_output_clean()
        for stream in (sys.stdout, sys.stderr):
            reconfigure = getattr(stream, "reconfigure", None)
            if reconfigure is not None:
                reconfigure(encoding="utf-8")
        set_locale(os.environ.get("NURSERY_LOCALE", "en"))
        return super().main(*args, **options)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; no stack trace reaches a person."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            raise Trouble(in_words(error)) from error


def in_words(error: Exception) -> str:
    """What happened and what to do, without the inside of the machine."""
    if isinstance(error, Invalid):
        return "\n".join(f"{field}: {message}" for field, message in error.errors.items())
    if isinstance(error, NurseryError):
        return str(error)
    if isinstance(error, OSError):
        return " ".join(str(part) for part in (error.strerror or error, error.filename or "") if part)
    if type(error).__name__ in {"ArgumentError", "NoSuchModuleError"}:  # SQLAlchemy's, which is slow to import
        return _(
            "NURSERY_DATABASE_URL is no address of a database (%(reason)s). Write it like %(example)s.",
            reason=str(error),
            example="sqlite:////home/ana/nursery.sqlite",
        )
    if type(error).__module__.startswith("sqlalchemy"):
        return _of_database(error)
    return _(
        "Something unforeseen went wrong (%(kind)s: %(reason)s). Nothing was written.",
        kind=type(error).__name__,
        reason=str(error),
    )


def _of_database(error: Exception) -> str:
    from nursery.faults import Fault, fault_of  # noqa: PLC0415 -- slow import

    reason = str(getattr(error, "orig", None) or error).splitlines()[0]
    match fault_of(error):
        case Fault.BUSY:
            return _("Somebody else is writing (%(reason)s). Nothing was written; try again.", reason=reason)
        case Fault.FULL:
            return _(
                "The disk is full (%(reason)s). Nothing was written; make room, then try again.", reason=reason
            )
        case Fault.READ_ONLY:
            return _(
                "The database may only be read (%(reason)s). Give yourself the right to write to it and"
                " its folder.",
                reason=reason,
            )
        case Fault.AWAY:
            return _(
                "The database does not answer (%(reason)s). See that it runs and can be reached.", reason=reason
            )
        case Fault.DAMAGED:
            return _(
                "The database is damaged (%(reason)s). Keep the file, and bring a backup back with"
                " “nursery restore”.",
                reason=reason,
            )
        case _:
            return _(
                "The database refused (%(reason)s). Run “nursery check” to see what is wrong with it.",
                reason=reason,
            )

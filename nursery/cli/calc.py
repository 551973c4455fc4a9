"""``nursery calc``: one calculator, JSON in, JSON out."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, NoReturn

import click

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _

_MOST_BYTES = 2_000_000
#: Parameter of the command → what its errors are filed under.
_CALLED = {"name": "calculator", "source": "input"}


class _JsonErrors(click.Command):
    """A command whose every refusal, even of its own options, is one JSON object on standard output."""

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        try:
            return super().make_context(*args, **kwargs)
        except click.UsageError as error:
            named = isinstance(error, click.BadParameter) and error.param and error.param.name
            _refuse({_CALLED.get(named or "", "command"): error.format_message()})


@click.command(cls=_JsonErrors)
@click.argument("name")
@click.option("--input", "source", required=True, metavar="FILE|-", help="JSON object; - reads standard input.")
def calc(name: str, source: str) -> None:
    """Run calculator NAME on a JSON object and print the result as one.

    Exit code 2 and {"errors": {field: message}} when the input is wrong.
    """
    from nursery.services.calculators import calculate, find_calculator  # noqa: PLC0415 -- slow import

    try:
        find_calculator(name)
        result = calculate(name, _read(source))
    except NotFound as error:
        _refuse({"calculator": str(error)})
    except Invalid as error:
        _refuse(error.errors)
    click.echo(json.dumps(result, ensure_ascii=False, allow_nan=False))


def _read(source: str) -> Any:
    try:
        if source == "-":
            data = sys.stdin.buffer.read(_MOST_BYTES + 1)
        else:
            with Path(source).open("rb") as file:
                data = file.read(_MOST_BYTES + 1)
    except (OSError, ValueError):
        raise Invalid({"input": _("File “%(name)s” cannot be read. Check its name.", name=source[:200])}) from None
    if len(data) > _MOST_BYTES:
        raise Invalid({"input": _("The input is larger than 2 MB. Give one calculation at a time.")})
    try:
        return json.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        reason = _("too deep or too long")
        if isinstance(error, json.JSONDecodeError):
            reason = error.msg
        elif isinstance(error, UnicodeDecodeError):
            reason = _("not UTF-8 text")
        raise Invalid(
            {"input": _("The input is not JSON (%(reason)s). Give one JSON object.", reason=reason)}
        ) from None


def _refuse(errors: dict[str, str]) -> NoReturn:
    click.echo(json.dumps({"errors": errors}, ensure_ascii=False))
    raise SystemExit(2)

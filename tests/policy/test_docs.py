"""README.md tells every setting and every command."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from nursery.cli import main


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


def commands(group: click.Group, before: str) -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield f"{before} {name}", command
        if isinstance(command, click.Group):
            yield from commands(command, f"{before} {name}")


def test_every_setting_is_told(root: Path, readme: str) -> None:
    read = {
        name
        for file in (root / "nursery").rglob("*.py")
        for name in re.findall(r"environ(?:\.get\(|\[)\s*\"(NURSERY_[A-Z_]+)\"", file.read_text(encoding="utf-8"))
    }

    assert {name for name in read if f"`{name}`" not in readme} == set()
    assert "NURSERY_DATABASE_URL" in read


def test_every_command_and_option_is_told(readme: str) -> None:
    missing = [name for name, _ in commands(main, "nursery") if name not in readme]
    missing += [
        f"{name} {option}"
        for name, command in commands(main, "nursery")
        for parameter in command.params
        if isinstance(parameter, click.Option)
        for option in parameter.opts
        if option not in readme
    ]

    assert missing == []


def test_every_command_says_what_it_does() -> None:
    assert [name for name, command in commands(main, "nursery") if not command.get_short_help_str()] == []

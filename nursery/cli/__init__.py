"""The command line: ``nursery``. Commands are loaded when they are called, so that help comes at once."""

from __future__ import annotations

import click

from nursery import __version__
from nursery.cli.group import LazyGroup

#: Command → module and attribute that hold it.
COMMANDS = {
    "demo": "nursery.cli.demo:demo",
    "serve": "nursery.cli.serve:serve",
    "account": "nursery.cli.accounts:account",
    "plan": "nursery.cli.plan:plan",
    "import": "nursery.cli.imports:import_file",
    "calc": "nursery.cli.calc:calc",
    "catalog": "nursery.cli.catalog:catalog",
    "upgrade": "nursery.cli.schema:upgrade",
    "check": "nursery.cli.schema:check",
    "backup": "nursery.cli.safekeeping:backup",
    "restore": "nursery.cli.safekeeping:restore",
    "move": "nursery.cli.safekeeping:move",
}


@click.group(cls=LazyGroup, commands_at=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="nursery")
def main() -> None:
    """Plan a native plant nursery from planting targets back to seed to collect, sow and grow."""

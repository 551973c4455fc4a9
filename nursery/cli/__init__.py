"""The command line: ``nursery``."""

from __future__ import annotations

import click

from nursery import __version__


@click.group()
@click.version_option(__version__, prog_name="nursery")
def main() -> None:
    """Plan a native plant nursery from planting targets back to seed to collect, sow and grow."""

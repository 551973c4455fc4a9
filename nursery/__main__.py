"""``python -m nursery`` is the command line."""

from nursery.cli import main

main(prog_name="nursery")

"""The command line: one module for each thing a person does."""

import click

from haccp import __version__
from haccp.cli.boundary import Boundary
from haccp.cli.check import check


@click.group(cls=Boundary, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def cli() -> None:
    """Log food temperatures, see at once whether they keep the limits, and print the record."""


cli.add_command(check)

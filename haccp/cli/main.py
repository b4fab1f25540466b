"""The command line: one module for each thing a person does."""

from pathlib import Path

import click

from haccp import __version__
from haccp.cli import (
    correcting,
    curve_file,
    decisions,
    demo,
    files,
    handling,
    looking,
    measure,
    opening,
    plan_and_forms,
    record,
    report,
    setting,
    thermometers,
)
from haccp.cli.boundary import Boundary
from haccp.cli.check import check
from haccp.cli.limits import limits_
from haccp.cli.predict import predict
from haccp.cli.session import Session, default_path, record_path


@click.group(cls=Boundary, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
@click.option(
    "--db",
    envvar="HACCP_DB",
    type=click.Path(dir_okay=False),
    callback=record_path,
    help="The record's file; otherwise HACCP_DB, or record.sqlite3 in your data folder.",
)
@click.pass_context
def cli(ctx: click.Context, db: Path | None) -> None:
    """Log food temperatures, see at once whether they keep the limits, and print the record."""
    if not isinstance(ctx.obj, Session):
        ctx.obj = Session(db or default_path())
    ctx.call_on_close(ctx.obj.close)


for command in (
    *measure.COMMANDS, measure.method,
    opening.batch, opening.receive, handling.reject, handling.split, handling.merge,
    handling.rename, handling.freeze, handling.thaw,
    handling.used, handling.discard, handling.empty,
    decisions.action, decisions.release, decisions.tcs,
    thermometers.ice, thermometers.boil, thermometers.trust,
    looking.status, looking.show, looking.trace, looking.label, looking.list_,
    correcting.correct, correcting.sign,
    files.load, files.export, files.import_, demo.demo,
    report.report, curve_file.curve, plan_and_forms.plan, plan_and_forms.forms,
    record.record, check, limits_, predict,
    setting.setup, setting.kitchen, setting.add, setting.by, setting.pin,
):  # fmt: skip
    cli.add_command(command)

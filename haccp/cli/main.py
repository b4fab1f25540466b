"""The command line: one module for each thing a person does."""

from pathlib import Path

import click

from haccp import __version__
from haccp.cli import (
    amend,
    batch,
    curve,
    decide,
    demo,
    instrument,
    measure,
    opening,
    plan,
    record,
    report,
    review,
    setting,
    transfer,
)
from haccp.cli.boundary import Boundary
from haccp.cli.check import check
from haccp.cli.limits import limits_
from haccp.cli.predict import predict
from haccp.cli.session import Session, default_path


@click.group(cls=Boundary, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
@click.option(
    "--db",
    envvar="HACCP_DB",
    type=click.Path(dir_okay=False, path_type=Path),
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
    opening.batch, opening.receive, batch.reject, batch.split, batch.merge, batch.rename,
    batch.freeze, batch.thaw, batch.used, batch.discard, batch.empty,
    decide.action, decide.release, decide.tcs, instrument.ice, instrument.boil, instrument.trust,
    review.status, review.show, review.trace, review.label, review.list_,
    amend.correct, amend.sign,
    transfer.load, transfer.export, transfer.import_, demo.demo,
    report.report, curve.curve, plan.plan, plan.forms, record.record, check, limits_,
    predict,
    setting.setup, setting.kitchen, setting.add, setting.by, setting.pin,
):  # fmt: skip
    cli.add_command(command)

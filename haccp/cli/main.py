"""The command line: every command by name and first sentence, in the module that it lives in."""

import click

from haccp import __version__
from haccp.cli.on_demand import Commands

# The first sentences stand in the commands' own help too, with the rest of it: a test compares.
COMMANDS = {
    "measure": {
        "prepare": "Log food that is out of temperature control before it is cooked.",
        "cook": "Log a cooking temperature.",
        "hold": "Log a hot or cold holding check.",
        "cool": "Log a cooling temperature.",
        "reheat": "Log a reheating temperature.",
        "time": "Log food that leaves temperature control, with time as the control from then on "
        "(3-501.19), or a look at it later.",
        "method": "Say how a batch cools, for estimates; again when that changes (stirred, moved, "
        "iced).",
    },
    "opening": {
        "batch": "Open a batch.",
        "receive": "Take a delivery: open it as a batch with its temperature at the door "
        "(3-202.11).",
    },
    "handling": {
        "reject": "Record that a delivery was sent back, and why.",
        "split": "Divide a batch into COUNT portions; what was measured of it counts for each.",
        "merge": "Put batches of one food together; what was measured of each counts for the "
        "whole.",
        "rename": "Call a batch's container otherwise; its code, and all that was recorded, stay.",
        "freeze": "Record that a batch went into the freezer: its date mark stands still.",
        "thaw": "Record that a batch came out of the freezer: its date mark goes on.",
        "out": "Record that a batch was taken out of the unit that it stood in.",
        "move": "Record that a batch was put into UNIT: from now on the unit's checks stand for "
        "its own.",
        "opened": "Record that a delivery's container was opened: its date mark begins "
        "(3-501.17(B)).",
        "used": "Close a batch of which nothing is left.",
        "discard": "Record that a batch was thrown away, and why.",
        "divert": "Record that food that is not to be served went to another use (a manager).",
        "empty": "Record that a unit holds no food now, so that no check of it is missed.",
    },
    "decisions": {
        "action": "Record a corrective action; without TEXT, list what is usual.",
        "release": "Release food whose limit is not shown, with the reason (a manager).",
        "set_apart": "Record that food that deviates stands apart, on hold, until somebody "
        "decides.",
        "tcs": "Say by pH and water activity whether a food is TCS at all (1-201.10, Tables A and "
        "B).",
    },
    "declaring": {
        "closed": "Declare the kitchen closed on DAY, ahead or afterwards (a manager).",
        "oven": "Record that the local authority accepts an oven for whole roasts in writing (a "
        "manager).",
    },
    "thermometers": {
        "ice": "Record what a thermometer shows in melting ice.",
        "boil": "Record what a thermometer shows in boiling water.",
        "trust": "Let a thermometer's readings count although a check of it failed (a manager).",
    },
    "status": {
        "status": "List what can still be saved, what waits for a decision, what is due; a "
        "manager's first look.",
    },
    "looking": {
        "show": "Show one batch or unit: its readings, what was found, and a batch's curve.",
        "trace": "Follow a batch both ways: what is in it, and where it went.",
        "label": "Print a line to write or stick on a batch's container.",
        "list_": "List people, thermometers, units, foods, batches, or every entry of the record.",
    },
    "correcting": {
        "correct": "Correct an entry by a new one: haccp correct 42 69F --reason "
        '"read the wrong pan".',
        "sign": "Sign a day as reviewed (a manager).",
    },
    "files": {
        "load": "Record the readings of a CSV file, all or none: typed in from paper, or from a "
        "logger.",
        "export": "Write every entry to FILE (.csv or .json; - is standard output).",
        "import_": "Read an export back into a new record.",
    },
    "demo": {
        "demo": "Build a record in FOLDER from a week of sample logs, invented, and print its "
        "report.",
    },
    "report": {
        "report": "Print a day, or the days FIRST to LAST, as PDF: haccp report yesterday.",
    },
    "curve_file": {
        "curve": "Draw a batch's coolings as a .pdf, .svg or .png, each with its plan and what is "
        "expected.",
    },
    "plan_and_forms": {
        "plan": "Print the draft of a HACCP plan (8-201.14) from the kitchen's settings as PDF.",
        "forms": "Print blank log sheets, to write on when the power is out and to type in later.",
    },
    "record": {"record": "Check, copy and restore the record."},
    "check": {
        "check": "Judge the readings in FILE (CSV; - is standard input) without recording "
        "anything.",
    },
    "limits": {
        "limits_": "List, show and compare the sets of limits; validate a file of local ones.",
    },
    "predict": {
        "predict": "Estimate before cooking how FOOD will cool, how deep it may be, and what would "
        "help.",
    },
    "rescue": {
        "rescue": "Estimate which act still saves a batch that cools too slowly, the likeliest "
        "first.",
    },
    "learned": {
        "learned": "Show how the kitchen's finished coolings went: by food, container, depth and "
        "method.",
    },
    "kitchen_settings": {
        "kitchen": "Show the kitchen's settings, or change them from now on (a manager).",
    },
    "setting": {
        "setup": "Make the record of a new kitchen, with its first manager.",
        "add": "Add a person, a thermometer, a unit or a food (a manager); add it again to change "
        "it.",
        "by": "Remember who records at this terminal from now on.",
        "pin": "Set a manager's PIN, or replace it (a manager, with their own PIN).",
    },
}


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
@click.option(
    "--db",
    envvar="HACCP_DB",
    type=click.Path(dir_okay=False),
    help="The record's file; otherwise HACCP_DB, or record.sqlite3 in your data folder.",
)
@click.pass_context
def cli(ctx: click.Context, db: str | None) -> None:
    """Log food temperatures, see at once whether they keep the limits, and print the record."""
    # nothing of this for --help and completion
    from haccp.cli.session import Session, default_path, record_path

    path = record_path(db)
    if not isinstance(ctx.obj, Session):
        ctx.obj = Session(path or default_path())
    ctx.call_on_close(ctx.obj.close)


cli.add_all(COMMANDS)

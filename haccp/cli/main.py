"""The command line: every command, by part of the day."""

import click

from haccp import __version__
from haccp.cli.on_demand import Commands
from haccp.language import message

# By part of the day: each command's name, its module and attribute, and what it is in short.
COMMANDS = {
    message("Every hour"): {
        "due": ("status:status", message("What to save, to decide, to measure, and by when.")),
        "board": ("board:board_", message("The same on a screen that stays on, with a bell.")),
        "round": ("round:round_", message("Measure all that is due, one after the other.")),
        "hold": ("measure:hold", message("Log what is held hot or cold: a food or a unit.")),
        "cook": ("measure:cook", message("Log food that is cooked.")),
        "cool": ("measure:cool", message("Log food that cools.")),
        "reheat": ("measure:reheat", message("Log food that is reheated.")),
        "prepare": ("measure:prepare", message("Log food that is out while it is prepared.")),
        "time-control": (
            "measure:time",
            message("Log food that is held by time alone (3-501.19)."),
        ),
        "oops": ("correcting:oops", message("Your last reading of just now was wrong: oops 39.")),
        "show": (
            "looking:show",
            message("One batch or unit: readings, what was found, its curve."),
        ),
    },
    message("Food comes and goes"): {
        "receive": ("opening:receive", message("A delivery, with its temperature at the door.")),
        "batch": ("opening:batch", message("Open a batch of a food.")),
        "opened": (
            "handling:opened",
            message("A delivery's container was opened: its days begin."),
        ),
        "cooling-method": ("method:method", message("How a batch cools, for estimates.")),
        "move": ("handling:move", message("A batch was put into a unit.")),
        "out": ("handling:out", message("A batch was taken out of its unit.")),
        "split": ("dividing:split", message("Divide a batch into portions.")),
        "merge": ("dividing:merge", message("Put batches of one food together.")),
        "rename": ("handling:rename", message("Call a batch's container otherwise.")),
        "label": ("label:label", message("A line for a batch's container.")),
        "freeze": (
            "handling:freeze",
            message("A batch went into the freezer: its days stand still."),
        ),
        "thaw": ("handling:thaw", message("A batch came out of the freezer: its days go on.")),
        "used-up": ("handling:used", message("Nothing is left of a batch.")),
        "empty-unit": ("handling:empty", message("A unit holds no food: no check of it is due.")),
    },
    message("Something is wrong"): {
        "amend": (
            "correcting:correct",
            message("Put an entry right by a new one, with the reason."),
        ),
        "leave-out": (
            "leaving_out:leave_out",
            message("What a logger read at a time is no evidence, and why."),
        ),
        "corrective": (
            "decisions:action",
            message("What was done about it; without words, what is usual."),
        ),
        "set-apart": (
            "decisions:set_apart",
            message("Food stands apart, on hold, until it is decided about."),
        ),
        "rescue": (
            "rescue:rescue",
            message("Which act still saves a batch that cools too slowly."),
        ),
        "discard": ("handling:discard", message("A batch was thrown away, and why.")),
        "reject": ("handling:reject", message("A delivery was sent back, and why.")),
        "trace": ("looking:trace", message("What is in a batch, and where it went.")),
    },
    message("Thermometers"): {
        "ice": ("thermometers:ice", message("What a thermometer shows in melting ice.")),
        "boil": ("thermometers:boil", message("What a thermometer shows in boiling water.")),
    },
    message("Manager"): {
        "review": (
            "review:review",
            message("Decide, sign, and see what comes again."),
        ),
        "sign-day": ("correcting:sign", message("Sign a day as reviewed.")),
        "release-food": (
            "decisions:release",
            message("Release food whose limit is not shown, with the reason."),
        ),
        "divert": ("handling:divert", message("Food that is not served went to another use.")),
        "go-on": (
            "branches:go_on",
            message("Go on without a branch beside the record, and why."),
        ),
        "trust-thermometer": (
            "thermometers:trust",
            message("Its readings count, although a check of it failed."),
        ),
        "closed": ("declaring:closed", message("The kitchen is, or was, closed on a day.")),
        "oven": ("declaring:oven", message("The authority accepts an oven for roasts in writing.")),
        "tcs": ("decisions:tcs", message("Whether a food needs time and temperature control.")),
        "add": ("setting:add", message("Add a person, thermometer, unit or food.")),
        "kitchen": ("kitchen_settings:kitchen", message("Show or change the kitchen's settings.")),
        "pin": ("setting:pin", message("Set a manager's PIN, or replace it.")),
    },
    message("Office"): {
        "report": ("report:report", message("Print days as PDF, for the inspector.")),
        "curve": ("curve_file:curve", message("Draw a batch's cooling to a file.")),
        "trends": ("trends:trends", message("What goes wrong where and when, over many days.")),
        "learned": ("learned:learned", message("How the kitchen's finished coolings went.")),
        "plan-cooling": (
            "predict:predict",
            message("Estimate before cooking how a food will cool."),
        ),
        "plan": (
            "plan_and_forms:plan",
            message("Print the draft of a HACCP plan (8-201.14)."),
        ),
        "forms": (
            "plan_and_forms:forms",
            message("Print blank log sheets, for a day without power."),
        ),
        "list": (
            "listing:list_",
            message("People, thermometers, units, foods, batches or entries."),
        ),
        "check-file": ("check:check", message("Judge a file of readings, recording nothing.")),
        "load-readings": ("files:load", message("Record the readings of a file, all or none.")),
        "export": ("files:export", message("Write every entry to a file.")),
        "import-record": ("files:import_", message("Read an export back into a new record.")),
        "record": ("record:record", message("Check, copy and restore the record.")),
        "audit": ("audit:audit", message("Judge past days by another set of limits.")),
        "hand-over": (
            "hand_over:hand_over",
            message("Hand this record over to a server, after a lost line."),
        ),
        "server": ("server:server", message("Records of many kitchens on one server.")),
        "district": ("district:district", message("Many kitchens at once, for their officer.")),
        "limits": ("limits:limits_", message("The sets of limits; compare; check your own.")),
        "initials": ("setting:by", message("Remember who types here from now on.")),
        "setup": ("setting_up:setup", message("Make the record of a new kitchen.")),
        "demo": ("demo:demo", message("Build the record of a sample week, invented.")),
    },
}

# Names of before, which still do the same for one release.
EARLIER = {
    "action": "corrective",
    "by": "initials",
    "check": "check-file",
    "correct": "amend",
    "empty": "empty-unit",
    "import": "import-record",
    "load": "load-readings",
    "method": "cooling-method",
    "predict": "plan-cooling",
    "release": "release-food",
    "sign": "sign-day",
    "status": "due",
    "time": "time-control",
    "trust": "trust-thermometer",
    "used": "used-up",
}


@click.group(
    cls=Commands,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__)
@click.option(
    "--db",
    envvar="HACCP_DB",
    type=click.Path(dir_okay=False),
    help="The record's file, or a server's URL; otherwise HACCP_DB, or record.sqlite3 in your data "
    "folder.",
)
@click.pass_context
def cli(ctx: click.Context, db: str | None) -> None:
    """Log food temperatures, see at once whether they keep the limits, and print the record.

    Without a command: what is due, or how to begin.
    """
    # nothing of this for --help and completion
    from haccp.cli.session import Session, default_path
    from haccp.record.places import Server, place_named

    path = place_named(db) if db is not None else None
    if isinstance(path, Server):
        from haccp.cli.terminal import take_warnings

        take_warnings()
    if not isinstance(ctx.obj, Session):
        ctx.obj = Session(path or default_path())
    ctx.call_on_close(ctx.obj.close)
    if ctx.invoked_subcommand is None:
        from haccp.cli.status import begin

        begin(ctx.obj)


cli.add_all(COMMANDS, EARLIER)

"""How the acts that may save a cooling are told, by `haccp rescue` and `haccp show`."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord
from haccp.language import message, phrase
from haccp.phrases import all_of, at, by
from haccp.rules.evidence import Finding
from haccp.time import day_and_clock, stored

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running
    from haccp.kitchen.rescue import Chance, Rescue

_NOTES = (
    message(
        "It is counted from now on, as if the food were still as warm as at its last reading; what "
        "an act itself takes is not counted, nor freezing at the edges."
    ),
    message(
        "Ice water stands as high as the food, ice is added as it melts, and stirred is at least "
        "every quarter of an hour."
    ),
    message("Acts can be done together or in turn."),
    message(
        "Say how you cool it then (haccp cooling-method), and measure it: only readings show that "
        "food was cold in time."
    ),
)


def at_risk(
    subject: OnRecord, findings: Sequence[Finding], running: "Running | None", session: Session
) -> "Rescue | None":
    """Estimate the acts for a cooling that may well not make it; None for any other."""
    if running is None or not running.is_at_risk or not isinstance(subject, BatchOnRecord):
        return None
    from haccp.kitchen.rescue import open_stages

    found_open = open_stages(findings)
    return estimated(subject, found_open, running, session) if found_open else None


def estimated(
    subject: BatchOnRecord,
    found_open: Sequence[Finding],
    running: "Running | None",
    session: Session,
) -> "Rescue":
    """Ask the models, which are heavy: only who looks at a batch at risk waits for them."""
    from haccp.kitchen.rescue import rescue

    return rescue(subject, found_open, running, session.register, session.now)


def tell(found: "Rescue", session: Session) -> None:
    """Print the acts as a table: what the kitchen owns first."""
    from haccp.cli.cooling_answer import LABEL

    clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
    degree = session.register.degree
    terminal.paragraph(
        phrase(
            "{label} {temp} {at}, {taken}.",
            label=phrase(LABEL),
            temp=found.last.temperature,
            at=at(clock(found.last.at)),
            taken=", ".join(found.taken),
        )
    )
    levels = [f"{one.limit.level.number(degree)} °{degree}" for one in found.stages]
    dues = [by(clock(one.due)) for one in found.stages if one.due]
    goals = [
        phrase("{level} {by}", level=level, by=due) for level, due in zip(levels, dues, strict=True)
    ]
    terminal.paragraph(phrase("How likely {goals} is if this is done now:", goals=all_of(goals)))
    terminal.lines("")
    header = [levels[0], *(phrase("and {level}", level=level) for level in levels[1:])]
    others = phrase("act, not owned (haccp kitchen --owns)")
    for owned, what in ((True, phrase("act")), (False, others)):
        mine = [one for one in found.chances if one.owned is owned]
        if mine:
            _table([*header, what], mine)
    terminal.paragraph(" ".join(map(phrase, _NOTES)))


def _table(header: Sequence[str], chances: "Sequence[Chance]") -> None:
    from haccp.cli.cooling_answer import percent

    worth = [one for one in chances if one.by_stage[0] >= 0.01]
    hopeless = [one.words for one in chances if one.by_stage[0] < 0.01]
    rows = [(*map(percent, one.by_stage), one.words) for one in worth]
    if rows:
        terminal.table(header, rows)
    if hopeless:
        terminal.paragraph(phrase("Below 1 %: {acts}.", acts="; ".join(hopeless)))
    terminal.lines("")


def plain(found: "Rescue") -> dict[str, Any]:
    """Give the acts as plain values, in their order; chances are never 0 or 1."""
    from haccp.cli.cooling_answer import LABEL, plain_chance

    return {
        "label": phrase(LABEL),
        "taken": found.taken,
        "stages": [
            {"limit": one.limit.name, "due": stored(one.due)} for one in found.stages if one.due
        ],
        "acts": [
            {
                "act": one.words,
                "owned": one.owned,
                "chances": [plain_chance(share) for share in one.by_stage],
            }
            for one in found.chances
        ],
    }

"""`haccp due`: what can still be saved, what waits for a decision, what is due."""

from collections.abc import Sequence
from datetime import timedelta
from functools import partial
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.deciding import wanting_action
from haccp.cli.looking import fitted
from haccp.cli.session import Session
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.board import Group, Row, board, group_of
from haccp.kitchen.branch_words import how_to_go_on
from haccp.kitchen.naming import open_codes
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import restored_words
from haccp.kitchen.review import Matter, matters
from haccp.language import counted, message, phrase
from haccp.phrases import by
from haccp.rules.asked import goal
from haccp.rules.evidence import Step, Verdict
from haccp.rules.words import called, explain, in_short
from haccp.time import day_and_clock, spell

# For so long status says that the record is a copy that was put back.
_TOLD_FOR = timedelta(days=7)
# The least room for the time left [columns].
_TIME_LEFT = 11
_HEADS = {
    Group.SAVE: message("TO SAVE"),
    Group.DECIDE: message("TO DECIDE"),
    Group.DUE: message("DUE"),
}
_HOW_TO_DECIDE = message(
    'Food is decided by what becomes of it: haccp discard NAME "...", by a manager also haccp '
    'release-food NAME "..." (what is not shown) or haccp divert NAME "..."; a unit by haccp '
    'corrective NAME "...". Several at once with commas.'
)


@click.command()
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def status(session: Session, json_: bool) -> None:
    """List what can still be saved, what waits for a decision, what is due; a manager's first look.

    The least time left stands first, then what has waited longest.
    """
    _tell_due(session, json_=json_)


def begin(session: Session) -> None:
    """Say what is due; where there is no record yet, how one begins."""
    if session.has_record:
        _tell_due(session, json_=False)
        return
    terminal.say(phrase("There is no record at {path} yet.", path=session.path))
    terminal.say(phrase("A new kitchen: haccp setup. A sample week to look at: haccp demo."))
    terminal.say(
        phrase("A record that is somewhere else: haccp --db FILE. All commands: haccp -h.")
    )


def _tell_due(session: Session, *, json_: bool) -> None:
    register, now = session.register, session.now
    found = matters(session.record, register, now)
    when = partial(day_and_clock, now=now, zone=register.zone)
    if json_:
        order = list(Group)
        found = sorted(found, key=lambda one: order.index(group_of(one, now)))
        terminal.as_json([_matter(one, session) for one in found])
        return
    session.tell_troubles()
    if any(one.due is None and one.verdict for one in found):
        terminal.lines(phrase("ENTRIES OF THIS RECORD CANNOT BE READ: ask haccp record verify."))
    terminal.lines(f"{register.kitchen.name}, {when(now)}")
    for one in register.restored:
        if now - one.entered_at <= _TOLD_FOR:
            told = (
                message("{copy_put_back} By {person}, by PIN, {when}.")
                if one.body.proved
                else message("{copy_put_back} By {person}, not proved by a PIN, {when}.")
            )
            put_back, entered = restored_words(one.body), when(one.entered_at)
            terminal.paragraph(
                phrase(told, copy_put_back=put_back, person=one.person, when=entered)
            )
    if not found:
        terminal.lines(nothing())
        return
    batches = read_batches(session.record, open_codes(session.record))
    _print(board(found, batches, register, now), session)


def head(group: Group, rows: int) -> str:
    """Give the line above a group's rows, with how many they are."""
    return f"{headed(group)} ({rows})"


def headed(group: Group) -> str:
    return phrase(_HEADS[group])


def nothing() -> str:
    return phrase("Nothing is open, nothing waits for a decision, nothing is due.")


def _print(rows: Sequence[Row], session: Session) -> None:
    room = max(_TIME_LEFT, *(len(left(row, session)) for row in rows))
    indent = " " * (room + 2)
    for group in Group:
        mine = [row for row in rows if row.group is group]
        if not mine:
            continue
        terminal.lines("", head(group, len(mine)), bold=True)
        for row in mine:
            lead = f"{left(row, session):>{room}}  "
            terminal.paragraph(headline(row, session), lead=lead, indent=indent)
            more = why(row, session)
            if more:
                terminal.paragraph(more, lead=indent, indent=indent)
        if group is Group.DECIDE:
            _tell_how(mine, session)


def _tell_how(rows: Sequence[Row], session: Session) -> None:
    branches = [branch for row in rows if (branch := row.matters[0].branch)]
    if len(branches) < len(rows):
        terminal.paragraph(phrase(_HOW_TO_DECIDE))
        _tell_brought_back(rows, session)
    for one in branches:
        terminal.paragraph(how_to_go_on(one))


def _tell_brought_back(rows: Sequence[Row], session: Session) -> None:
    """Name the food that no one need throw away: it was out of limits for short."""
    names = [
        row.matters[0].name
        for row in rows
        if wanting_action(
            row.subject, [one.finding for one in row.matters if one.finding], session.register
        )
    ]
    if names:
        told = message(
            'Out of limits for 2 hours at most, and good again: haccp corrective {names} "..."'
        )
        terminal.paragraph(phrase(told, names=",".join(names)))


def left(row: Row, session: Session) -> str:
    if row.due is None:
        return ""
    left = row.due - session.now
    if left > timedelta(0):
        return spell(left)
    over = -left
    if over.days > 1:
        return counted("over {count} day", "over {count} days", over.days)
    hours = over // timedelta(hours=1)
    return phrase("over {time}", time=f"{hours} h" if hours else spell(over))


def headline(row: Row, session: Session) -> str:
    """Say in a line what a row is about and what it asks for."""
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    first, finding = row.matters[0], row.matters[0].finding
    if row.thermometer:
        words = message("{label} failed its check: measure again, with another thermometer:")
        return phrase(words, label=row.thermometer)
    name = first.title
    if row.inside:
        inside = ", ".join(row.inside)
        if isinstance(first.subject, BatchOnRecord):
            name = phrase("{batch}, in {unit}", batch=name, unit=inside)
        else:
            name = phrase("{unit} with {foods}", unit=name, foods=inside)
    if finding is None and not first.verdict:
        asked = phrase("check {by}", by=by(when(first.due))) if first.due else first.words
        return f"{name}: {asked}"
    if finding is None:
        return f"{first.title}: {_without_a_limit(first)}"
    if finding.verdict is Verdict.OPEN:
        return f"{name}: {goal(finding, when)}, {finding.limit.citation}"
    verdict = called(finding.verdict)
    if row.is_set_apart:
        verdict = phrase("{verdict}, set apart", verdict=verdict)
    return f"{name}: {verdict}, {finding.limit.citation}"


def _without_a_limit(one: Matter) -> str:
    """Call out what no limit was judged by: it cannot be read, or was taken back."""
    return called(one.verdict) if isinstance(one.verdict, Verdict) else phrase("TAKEN BACK")


def why(row: Row, session: Session) -> str:
    """Say in a sentence why it is so, and what is expected; nothing where the headline says all."""
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    first, finding = row.matters[0], row.matters[0].finding
    if row.thermometer:
        return f"{', '.join(row.inside)}."
    if finding is None:
        return first.words if first.verdict else ""
    told = "" if finding.verdict is Verdict.OPEN else in_short(finding, when)
    more = len({id(one.finding) for one in row.matters if one.finding}) - 1
    also = ""
    if more and told:
        words = "{count} more: haccp show {name}."
        also = counted(words, words, more, name=first.name)
    return " ".join(filter(None, (told, also, _estimated(first, session))))


def _estimated(one: Matter, session: Session) -> str:
    """Say what an open cooling is expected to do."""
    finding, subject = one.finding, one.subject
    if not (finding and subject and finding.step is Step.COOL and finding.verdict is Verdict.OPEN):
        return ""
    from haccp.kitchen.cooling_estimate import estimate_of

    found = fitted(subject, subject.judged(session.register, session.now), session)
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    return estimate_of(found, finding, when) if found else ""


def _matter(one: Matter, session: Session) -> dict[str, Any]:
    due, finding = one.due, one.finding
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    return {
        "group": group_of(one, session.now),
        "subject": one.name,
        "due": due.astimezone(session.register.zone).isoformat() if due else None,
        "left_min": terminal.minutes(due - session.now) if due else None,
        "verdict": finding.verdict if finding else one.verdict or None,
        "limit": finding.limit.name if finding else None,
        "what": f"{explain(finding, when)} {_estimated(one, session)}".strip()
        if finding
        else one.words,
    }

"""A logger's readings of a time that tell nothing of the food: `leave-out`."""

import shlex
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby

import click

from haccp.cli import terminal
from haccp.cli.session import Session, by_option, given
from haccp.errors import Refused
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import find_known
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.reading import read_batch, read_units
from haccp.kitchen.taken_back import taken_back
from haccp.language import counted, message, phrase
from haccp.phrases import all_of, runs_of, spanning
from haccp.record.bodies import LeftOut, Measured
from haccp.record.entries import LONGEST_RUN, Draft, Entry
from haccp.rules.evidence import overall
from haccp.rules.words import called
from haccp.time import day_and_clock, day_starts, parse_next, parse_when, stored

_A_MINUTE = timedelta(minutes=1)


@click.command("leave-out")
@click.argument("name", metavar="BATCH_OR_UNIT")
@click.argument("begin", metavar="FROM")
@click.argument("end", metavar="TO")
@click.argument("reason", required=False)
@click.option("--probe", metavar="NAME", default="", help="Which probe, where several were there.")
@by_option
@click.pass_obj
def leave_out(
    session: Session,
    name: str,
    begin: str,
    end: str,
    reason: str | None,
    probe: str,
    by: str | None,
) -> None:
    """Leave out what a logger read at a time: its probe was not in the food.

    haccp leave-out walk-in 14:05 14:40 "the probe lay on the bench"

    The readings stay on record and on paper, struck through, and what they were found to be counts
    until a manager signs the day.
    """
    line = message('haccp leave-out {typed} "the probe lay on the bench"')
    why = given(reason, phrase(line, typed=shlex.join((name, begin, end))))
    person = session.by(by)
    first, last = _span(session, begin, end)
    found = find_known(name, session.record, list(session.register.units))
    subject = _subject(session, found, first, last)
    readings = _of_one_probe(
        [
            one
            for one in subject.readings
            if one.run and first <= one.at < last + _A_MINUTE  # a minute is meant whole
        ],
        probe,
    )
    when = [day_and_clock(at, session.now, session.register.zone) for at in (first, last)]
    if not readings:
        told = message("No logger's reading of {name} {span} counts: haccp show {name} has them.")
        raise Refused(phrase(told, name=subject.name, span=spanning(*when)))
    made = session.append(*_drafts(readings, why, person.initials), as_seen=True)
    terminal.say(
        counted(
            "{count} reading of {name} {span} is left out, by no. {numbers}; it stays readable.",
            "{count} readings of {name} {span} are left out, by no. {numbers}; they stay readable.",
            len(readings),
            name=subject.name,
            span=spanning(*when),
            numbers=runs_of([one.seq for one in made]),
        )
    )
    _tell(session, _subject(session, found, first, last), {one.seq for one in made})


def _span(session: Session, begin: str, end: str) -> tuple[datetime, datetime]:
    """Read from when to when; an end without a day is on the day of the beginning."""
    now, zone = session.now, session.register.zone
    first = parse_when(begin, now, zone)
    before = day_starts(first.astimezone(zone).date(), zone) - timedelta(seconds=1)
    try:
        last = parse_next(end, before, zone)
    except Refused:
        last = parse_when(end, now, zone)
    if last < first:
        words = message("{end} is before {begin}: type when it began, then when it ended.")
        raise Refused(phrase(words, begin=repr(begin), end=repr(end)))
    return first, last


def _subject(session: Session, found: str, first: datetime, last: datetime) -> OnRecord:
    record, register = session.record, session.register
    if found not in register.units:
        return read_batch(record, found)
    return read_units(record, register, [found], first - LONGEST_RUN, last + _A_MINUTE)[0]


def _of_one_probe(readings: Sequence[Entry[Measured]], probe: str) -> list[Entry[Measured]]:
    probes = {one.run.probe.casefold(): one.run.probe for one in readings if one.run}
    if probe and probes and probe.casefold() not in probes:
        words = message("No probe {probe} was there then: there were {names}.")
        raise Refused(phrase(words, probe=repr(probe), names=all_of(list(probes.values()))))
    if len(probes) > 1 and not probe:
        words = message("Several probes were there: type --probe with one of {names}.")
        raise Refused(phrase(words, names=", ".join(map(repr, probes.values()))))
    wanted = {probe.casefold()} if probe else probes.keys()
    mine = [one for one in readings if one.run and one.run.probe.casefold() in wanted]
    return sorted(mine, key=lambda one: (one.seq, one.at))


def _drafts(readings: Sequence[Entry[Measured]], why: str, person: str) -> Iterator[Draft]:
    """Name of each hour the readings that are left out, from the first to the last of them."""
    for number, run in groupby(readings, lambda one: one.seq):
        hour = list(run)
        yield Draft(
            body=LeftOut(of=number, first=stored(hour[0].at), reason=why),
            at=hour[-1].at,
            person=person,
            batch=hour[0].batch,
            unit=hour[0].unit,
        )


def _tell(session: Session, subject: OnRecord, made: set[int]) -> None:
    """Say what is found now, and what the readings showed, which stays until a manager signs."""
    register, now = session.register, session.now
    for one in taken_back([subject], register, now):
        if one.correction.seq in made and one.stays(register):
            words = one.words(lambda at: day_and_clock(at, now, register.zone))
            terminal.say(phrase("It counts until a manager signs its day: {words}", words=words))
    verdict = overall(all_found(subject, session.record, register, now))
    told = message("{title} is now {verdict}.")
    terminal.say(phrase(told, title=subject.title, verdict=called(verdict)))

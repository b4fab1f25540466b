"""`haccp round`: all that is due, one prompt after the other; each point is recorded as typed."""

from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial

import click

from haccp.cli.correcting import put_right_at_once
from haccp.cli.measure import (
    Told,
    TypedReading,
    enter,
    on_record_now,
    ready,
    which_thermometer,
)
from haccp.cli.session import Session, by_option, printable
from haccp.cli.terminal import is_answered, line_after, lines_left, say
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.units import UnitOnRecord
from haccp.kitchen.walk import Point, never_read, points, step_of
from haccp.language import counted, message, phrase
from haccp.record.bodies import NotMeasured, Person
from haccp.record.entries import Draft
from haccp.rules.asked import ShowMoment, goal, target
from haccp.time import day_and_clock, spell


@click.command("round")
@click.option("--all", "all_", is_flag=True, help="Also what is not due yet.")
@click.option("--thermometer", envvar="HACCP_THERMOMETER", help="If not the kitchen's first.")
@by_option
@click.pass_obj
def round_(session: Session, all_: bool, thermometer: str | None, by: str | None) -> None:
    """Measure all that is due, one after the other, in the order of the kitchen's walk.

    haccp round
    """
    person, register = session.by(by), session.register
    which_thermometer(register, thermometer, session.now)  # a wrong name before the first point
    every = points(session.record, register, session.now)
    # what comes due before the round after this one is half gone is measured in this one
    soon = session.now + timedelta(minutes=register.kitchen.check_every_min) / 2
    due = [point for point in every if all_ or point.due <= soon]
    _tell_never_read(session)
    if not due:
        say(_nothing_due(every, session))
        return
    going = _Round(session, person, thermometer, due)
    try:
        going.walk()
    except (click.Abort, KeyboardInterrupt):
        say("", err=True)
        say(going.sum(), err=True)
        raise
    session.anew()
    say(f"{going.sum()} {_next(going, session)}".strip())
    going.refuse_what_was_lost()


def _nothing_due(every: list[Point], session: Session) -> str:
    if not every:
        return phrase("Nothing is to be measured: no unit holds food, and no batch is watched.")
    at = _clock(session)(min(point.due for point in every))
    told = message(
        "Nothing is due. Next round {at}. To measure now all the same: haccp round --all"
    )
    return phrase(told, at=at)


def _tell_never_read(session: Session) -> None:
    """Name the food that no round asks for, because nobody said what is done with it."""
    names = never_read(session.record, session.register)
    if names:
        told = message("Never measured, and in no round: {names}. Log haccp cook, cool or prepare.")
        say(phrase(told, names=", ".join(names)), err=True)


def _next(going: "_Round", session: Session) -> str:
    """Say when the next round is, beside what this one left."""
    left = going.unmeasured
    coming = points(session.record, session.register, session.now)
    dues = [point.due for point in coming if point.subject.name not in left]
    if not dues:
        return ""
    if min(dues) <= session.now:
        return phrase("More has come due: haccp round")
    return phrase("Next round {at}.", at=_clock(session)(min(dues)))


def _clock(session: Session) -> ShowMoment:
    return partial(day_and_clock, now=session.now, zone=session.register.zone)


@dataclass
class _Round:
    """One walk past points: what was recorded of each by its place in the walk, why some were not.

    `lost` is what was typed and could not be taken where nobody could be asked again.
    """

    session: Session
    person: Person
    thermometer: str | None
    points: list[Point]
    told: dict[int, Told] = field(default_factory=dict)
    passed: dict[int, str] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)

    def walk(self) -> None:
        count = len(self.points)
        say(
            counted(
                "{count} point to measure; ? for help.",
                "{count} points to measure; ? for help.",
                count,
            ),
            err=True,
        )
        place = 0
        while place < count:
            typed = line_after(self._prompt(place))
            if typed is None or typed.casefold() == "q":
                return
            place += self._taken(place, typed)
        if not is_answered() and not self.lost:
            self.lost = lines_left()

    def _taken(self, place: int, typed: str) -> int:
        """Do what was typed at a point; gives by how many points to go on."""
        match typed.casefold():
            case "?" | "h" | "help":
                self._help()
            case "-" if place:
                return -1
            case "-":
                say(phrase("This is the first point."), err=True)
            case "" if place in self.told or place in self.passed:
                return 1
            case "":
                say(phrase("Type what the thermometer shows; ? for help."), err=True)
            case _:
                return self._tried(place, typed)
        return 0

    def _tried(self, place: int, typed: str) -> int:
        recorded = len(self.session.recorded)
        self.session.anew()
        try:
            return self._pass_by(place) if typed == "." else self._measure(place, typed)
        except Refused as slip:
            if len(self.session.recorded) > recorded:
                raise  # it is on record: to type it again would be a second one
            say(str(slip), err=True)
        if is_answered():
            return 0
        # nobody can say any more what the lines after it are about
        self.lost = [f"{self.points[place].subject.name} {typed}", *lines_left()]
        return len(self.points) - place

    def _measure(self, place: int, typed: str) -> int:
        session, point = self.session, self.points[place]
        if place in self.told:
            old = self.told[place].entry
            self.told[place] = put_right_at_once(session, old, self.person, typed)
            return 1
        subject = on_record_now(session, point.subject.name)
        step = None
        if isinstance(subject, BatchOnRecord):
            if not subject.is_left:
                told = message("{name} was closed meanwhile: type . to pass it by.")
                raise Refused(phrase(told, name=subject.name))
            step = step_of(subject, session.register, session.now)
        reading = TypedReading(
            temp=typed, thermometer=self.thermometer, note="", yes=False, paper=False
        )
        checked = ready(session, subject, reading, step, session.now, self.person)
        (self.told[place],) = enter(session, checked, in_a_round=True)
        self.passed.pop(place, None)
        return 1

    def _pass_by(self, place: int) -> int:
        """Note why a point is not measured: it stays due, and a missed check stays missed."""
        subject = self.points[place].subject
        if place in self.told:
            raise Refused(phrase("It is measured: Enter keeps {temp}.", temp=self._shown(place)))
        reason = line_after(phrase("Why is {name} not measured?", name=subject.name))
        if not reason:
            raise Refused(phrase("A point is passed by with a reason, such as: door blocked."))
        why = printable(reason, phrase("The reason"))
        is_unit = isinstance(subject, UnitOnRecord)
        draft: Draft = Draft(
            body=NotMeasured(reason=why),
            at=self.session.now,
            person=self.person.initials,
            batch=None if is_unit else subject.name,
            unit=subject.name if is_unit else None,
        )
        self.session.append(draft)
        self.passed[place] = why
        say(phrase("Noted: not measured, {name} stays due.", name=subject.name))
        return 1

    def _prompt(self, place: int) -> str:
        """Name a point, what is asked of it, and what it was last: all that decides what to do."""
        point = self.points[place]
        name = point.subject.title
        if point.inside:
            name = phrase("{unit} with {foods}", unit=name, foods=", ".join(point.inside))
        places = {
            "number": place + 1,
            "count": len(self.points),
            "name": name,
            "asked": self._asked(point),
        }
        if place in self.told:
            told = message("{number} of {count}: {name}, {asked}; typed {temp}, Enter keeps it:")
            return phrase(told, temp=self._shown(place), **places)
        if point.last is None:
            return phrase("{number} of {count}: {name}, {asked}; not measured yet:", **places)
        age = spell(max(self.session.now - point.last.at, timedelta(0)))
        told = message("{number} of {count}: {name}, {asked}; last {temp} {age} ago:")
        return phrase(told, temp=point.last.temperature, age=age, **places)

    def _asked(self, point: Point) -> str:
        """Say what food must reach, as what it is to be measured, or what is held must keep."""
        step = point.step.words if point.step else ""
        if point.goal:
            wanted = goal(point.goal, _clock(self.session))
            return phrase("{step}, {goal}", step=step, goal=wanted) if step else wanted
        return target(point.limit, self.session.register.degree) if point.limit else step

    def _shown(self, place: int) -> str:
        body = self.told[place].entry.body
        return f"{body.temp} °{body.degree}"

    def _help(self) -> None:
        for words in (
            phrase("Type what the thermometer shows and Enter: it is recorded at once."),
            phrase(". passes a point by, with a reason; - goes back to put a point right."),
            phrase("q ends the round, as Ctrl-C does: what was typed until then is kept."),
        ):
            say(words, err=True)

    @property
    def unmeasured(self) -> dict[str, str]:
        """Why points are not measured, by name; empty where nobody said."""
        return {
            point.subject.name: self.passed.get(place, "")
            for place, point in enumerate(self.points)
            if place not in self.told
        }

    def sum(self) -> str:
        """Say how many points are in order, and name each that is not, or is not measured."""
        bad = [
            f"{self.points[place].subject.name} {self._shown(place)}"
            for place, told in sorted(self.told.items())
            if told.answer.is_bad
        ]
        left = [f"{name} ({why})" if why else name for name, why in self.unmeasured.items()]
        good, count = len(self.told) - len(bad), len(self.points)
        sentences = [phrase("{good} of {count} OK.", good=good, count=count)]
        if bad:
            sentences.append(phrase("Not OK: {names}.", names=", ".join(bad)))
        if left:
            sentences.append(phrase("Not measured, still due: {names}.", names=", ".join(left)))
        return " ".join(sentences)

    def refuse_what_was_lost(self) -> None:
        if self.lost:
            raise Refused(phrase("This was not taken: {lines}.", lines=", ".join(self.lost)))

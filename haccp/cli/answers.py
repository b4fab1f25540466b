"""What a reading is answered with: this reading in kitchen words, what now, what else stands."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from haccp.cli.answer import Answer, Sentences
from haccp.cli.around_reading import Around
from haccp.cli.deciding import how_to_decide, in_one_line, standing_in
from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import Look, OnRecord
from haccp.kitchen.readings_as_evidence import is_step
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.language import counted, message, phrase
from haccp.rules import kitchen_words
from haccp.rules.account.holding import judge_holding
from haccp.rules.account.steps import TRAITS
from haccp.rules.asked import ShowMoment, target
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict
from haccp.rules.kitchen_words import (
    CHECK_THE_FOOD,
    DO_NOT_SERVE,
    MAY_BE_TOO_SLOW,
    NOT_PROVEN,
    NOTED,
    TOO_SLOW,
    by,
    why,
)
from haccp.rules.remedies import Option, options
from haccp.temperature import Degree
from haccp.time import spell_hold

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running

# Still cooling from its delivery, which a law lets it: not yet held.
_ARRIVED = "cooling-received"
_WAYS = message("shallow pans, stirred ice bath")
# So many foods of a unit are named.
_NAMED = 3
# A reading this much older than now says when it was taken.
_JUST_NOW = timedelta(minutes=2)


def answer(
    subject: OnRecord,
    reading: Reading,
    before: Sequence[Finding],
    session: Session,
    *,
    in_a_round: bool = False,
) -> Answer:
    """Say the answer to one reading; `before` is what was found before it."""
    told = answered(subject, reading, before, session)
    for line in told.in_a_round() if in_a_round else told.lines():
        say(line)
    return told


def answered(
    subject: OnRecord, reading: Reading, before: Sequence[Finding], session: Session
) -> Answer:
    """Give the answer to one reading: what it turned into a deviation is told as its own.

    The worst that nobody decided about the food comes third, whatever this reading is. Where that
    forbids to serve it, the first line says so, for a cook may read no further.
    """
    after = all_found(subject, session.record, session.register, max(session.now, reading.at))
    findings = _about(reading, after, before, subject, session.register, session.now)
    return _Answering(subject, reading, tuple(findings), after, session).answer()


class _Answering(Around):
    """The answer to one reading."""

    def answer(self) -> Answer:
        return Answer(
            first=self._first(),
            now=self._now(),
            trouble=self._trouble(),
            estimate=self._estimate(),
            where=self._where(),
            is_bad=any(
                (
                    self._deviates,
                    self._older,
                    self._outweighed,
                    self._hold,
                    self._unfit_inside,
                    self._running and self._running.is_at_risk,
                )
            ),
        )

    def _first(self) -> Sentences:
        """Tell what this reading is; whoever reads this alone must not serve what may be unsafe."""
        temp: object = self.reading.temperature
        if self.session.now - self.reading.at > _JUST_NOW:
            temp = f"{temp} ({self._clock(self.reading.at)})"
        word, told = self._judged()
        name = self.subject.name
        return (
            phrase("{word} {name} {temp}.", word=word, name=name, temp=temp),
            *filter(None, told),
        )

    def _judged(self) -> tuple[str, Sentences]:
        """Give the word or two that this reading is told by, and why."""
        found = self._decisive
        if self._outweighed:
            word = kitchen_words.word(found) if found and self._deviates else phrase(NOT_PROVEN)
            why_not = phrase(
                "It does not count: {temp} is logged for the same minute, and the coolest counts.",
                temp=self._outweighed.temperature,
            )
            return word, (why_not,)
        if self._hold:
            wanted, hold = self._hold
            missing = phrase(
                "Nothing shows {target} for {time}.", target=wanted, time=spell_hold(hold)
            )
            return phrase(NOT_PROVEN), (missing,)
        heats = found is not None and found.verdict is Verdict.OPEN and TRAITS[found.step].heats
        if not self._deviates and not heats and not self._may_be_served:
            return self._in_spite_of_older()
        if self._unfit_inside:
            words = message("In limits now. Not to be served from it yet: {foods}.")
            return phrase(CHECK_THE_FOOD), (phrase(words, foods=_some(self._unfit_inside)),)
        if found is None:
            return phrase(NOTED), (self._without_limit(),)
        return self._word_of(found), (why(found, self._clock), self._next_check())

    def _in_spite_of_older(self) -> tuple[str, Sentences]:
        found = self._decisive
        goes_on = found is not None and found.verdict is Verdict.OPEN and _is_no_end(found)
        must = why(found, self._clock) if found and goes_on else ""
        if isinstance(self.subject, UnitOnRecord):
            good = phrase("In limits now; an older trouble is undecided.")
            return phrase(CHECK_THE_FOOD), (good, must)
        good = phrase("This reading is good; an older trouble is undecided.")
        return phrase(DO_NOT_SERVE), (good, must)

    def _word_of(self, found: Finding) -> str:
        if found.verdict is Verdict.OPEN and self._running and self._running.is_at_risk:
            word = TOO_SLOW if self._running.is_unlikely else MAY_BE_TOO_SLOW
            return phrase(word)
        return kitchen_words.word(found)

    def _without_limit(self) -> str:
        """Say why nothing is asked of a reading."""
        subject, register = self.subject, self.session.register
        if subject.is_outside_the_limits:
            return phrase("It is no TCS food: no limit here binds it.")
        hot = isinstance(subject, BatchOnRecord) and subject.hot_limit(register, self.session.now)
        if hot and hot.kept_by(self.reading.temperature):
            return phrase("It was done before, and is hot still.")
        return phrase("Nothing is asked of it yet; its time out of cold and hot holding adds up.")

    @property
    def _is_held(self) -> bool:
        found = self._decisive
        held = found is not None and found.reason is Reason.IN_LIMITS
        return held and self.reading.step is not Step.RECEIVE

    def _next_check(self) -> str:
        """Say when what is held and in limits is looked at next: more is not to be done."""
        look = self._look
        if not (self._is_held and look) or self._is_elsewhere(look) or look.at <= self.session.now:
            return ""
        return phrase("Next check {clock}.", clock=self._clock(look.at))

    def _is_elsewhere(self, look: Look) -> bool:
        return bool(look.unit) and look.unit != self.subject.name

    def _now(self) -> Sentences:
        """Say what is to be done now, and by when; the most needed first."""
        first, *acts = [*self._acts()] or [""]
        now = phrase("Now: {sentence}", sentence=first) if first else ""
        return tuple(filter(None, [now, *acts, *self._measure(), *self._later_goals()]))

    def _acts(self) -> Iterator[str]:
        name = self.subject.name
        if self._outweighed:
            yield phrase("Measure it again in a minute, and log that.")
        elif self._decisive and self._deviates:
            yield from self._against(self._decisive)
        elif self._hold:
            yield phrase(
                "Was it so for {time}? (haccp {step} {name} {temp} --held {seconds})",
                time=spell_hold(self._hold[1]),
                step=self.reading.step,
                name=name,
                temp=self._typed(),
                seconds=int(self._hold[1] / timedelta(seconds=1)),
            )
        else:
            if self._unfit_inside:
                yield phrase(
                    "See what stands against it: haccp show {name}", name=self._unfit_inside[0]
                )
            yield from self._saving(self._older[:1])
            yield from self._goes_on()

    def _goes_on(self) -> Iterator[str]:
        """Say what becomes of food whose reading is good."""
        subject, register, now = self.subject, self.session.register, self.session.now
        if not isinstance(subject, BatchOnRecord):
            return
        if self.reading.step is Step.RECEIVE:
            yield from self._from_the_door(subject)
        elif TRAITS[self.reading.step].heats and not self._advice.goals:
            wanted = target(subject.hot_limit(register, now), register.degree)
            yield phrase("Hold it at {target}, or cool it.", target=wanted)
        elif self._running and self._running.is_at_risk:
            yield from _faster(self._running, subject.name, register.degree, self._clock)

    def _from_the_door(self, subject: BatchOnRecord) -> Iterator[str]:
        """Say where a delivery goes, and when it is looked at there."""
        register, name = self.session.register, subject.name
        at, look = self._measure_at, self._look
        if look and look.unit and look.at == at:
            words = message("Put it into {unit} at once, and check that {by}.")
            yield phrase(words, unit=look.unit, by=by(look.at, self._clock))
        elif subject.places(register, self.session.now):
            unit = subject.places(register, self.session.now)[0]
            yield phrase("Put it into {unit} at once.", unit=unit)
        elif subject.batch.received_as == "hot":
            yield phrase("Keep it hot (haccp move {name} UNIT), or cool it.", name=name)
        elif subject.batch.received_as == "frozen":
            yield phrase("Put it into a freezer (haccp move {name} UNIT).", name=name)
        else:
            yield phrase("Put it into the cold (haccp move {name} UNIT).", name=name)

    def _measure(self) -> Iterator[str]:
        """Say when it is measured next, or which unit's check stands for it."""
        at, look = self._measure_at, self._look
        if at is None or self._is_over or self._is_told(at):
            return
        if at <= self.session.now:
            yield phrase("Measure it now.")
        elif isinstance(self.subject, BatchOnRecord) and at == self.subject.said_look:
            yield phrase("It runs overnight: next look {clock}.", clock=self._clock(at))
        elif look and look.at == at and self._is_elsewhere(look):
            yield from self._at_its_unit()
        elif self._running and self._running.below and at == self._running.measure_at:
            yield phrase(
                "Measure it {by}: by then it is below {temp} if it will make it.",
                by=by(at, self._clock),
                temp=self._running.below,
            )
        else:
            yield phrase("Measure it {by}.", by=by(at, self._clock))

    def _at_its_unit(self) -> Iterator[str]:
        """Say which unit's check stands for the food's own; of a delivery it is said already."""
        look, at = self._look, self._measure_at
        due = look and look.at == at and look.at > self.session.now and self._is_elsewhere(look)
        if look and due and not self._deviates and self.reading.step is not Step.RECEIVE:
            words = message("It stands in {unit}: check that {by}.")
            yield phrase(words, unit=look.unit, by=by(look.at, self._clock))

    def _is_told(self, at: datetime) -> bool:
        """Whether the first line says already what is to be done at a moment."""
        found = self._decisive
        if self._next_check():
            return self._look is not None and self._look.at == at
        in_time = found is not None and (
            found.step is Step.TIME_CONTROL or found.reason is Reason.OUT_OF_TEMPERATURE
        )
        return in_time and found is not None and found.due == at

    def _later_goals(self) -> Iterator[str]:
        """Tell what is asked for beside what the first line says."""
        if self._is_over or (self._running and self._running.is_at_risk):
            return
        for one in self._advice.goals:
            if one is self._decisive or not (_is_no_end(one) or self._may_be_served):
                continue
            if one.step is Step.COOL and one.due:
                wanted = kitchen_words.asked(one)
                until = by(one.due, self._clock)
                yield phrase("After that {target} {by}.", target=wanted, by=until)
            else:
                yield why(one, self._clock)

    def _usual(self, found: Finding) -> tuple[Option, ...]:
        register, now = self.session.register, self.session.now
        late = register.kitchen_at(now).late_reheat
        return options(found, last=self.reading, now=now, late_reheat=late)

    def _saving(self, found: Iterable[Finding]) -> Iterator[str]:
        """Say what still saves the food, and until when."""
        now = self.session.now
        for one in (option for each in found for option in self._usual(each)[:1]):
            if one.until and one.until > now:
                until = by(one.until, self._clock)
                yield phrase("{option} This only {by}.", option=one.words, by=until)

    def _against(self, found: Finding) -> Iterator[str]:
        """Say what is done about a reading that deviates: what can still save the food first."""
        name, saving = self.subject.name, [*self._saving([found])]
        yield from self._what_is_missing(found)
        if found.limit.name == "oven":
            yield phrase("Tell a manager.")
        elif isinstance(self.subject, UnitOnRecord):
            yield self._of_the_food_inside()
        else:
            yield from saving
            yield phrase("Set it apart (haccp set-apart {name}) and tell a manager.", name=name)
        yield how_to_decide(self.subject, [found], self.session.register)
        if isinstance(self.subject, UnitOnRecord):
            yield from saving
        usual = self._usual(found)
        if usual and not saving:
            yield phrase("Usual: {option}", option=usual[0].words)

    def _what_is_missing(self, found: Finding) -> Iterator[str]:
        """Name the finished command that supplies what is not proven."""
        name = self.subject.name
        if found.reason is Reason.NO_START and found.step is Step.COOL:
            yield phrase("Was it read hot before? (haccp cool {name} TEMP TIME)", name=name)
        elif found.reason is Reason.OVEN:
            words = message("Log what the oven shows (haccp cook {name} {temp} --oven TEMP).")
            yield phrase(words, name=name, temp=self._typed())
        elif found.reason is Reason.THERMOMETER_IN_DOUBT:
            yield phrase(
                "Measure it with another one (haccp {step} {name} TEMP --thermometer LABEL).",
                step=_COMMANDS[self.reading.step],
                name=name,
            )

    def _typed(self) -> str:
        """Give the reading's temperature as it can be typed."""
        shown = self.reading.temperature
        own = shown.degree is self.session.register.degree
        return f"{shown.value}{'' if own else shown.degree}"

    def _of_the_food_inside(self) -> str:
        inside = [batch.name for batch in standing_in(self.subject.name, self.session)]
        if not inside:
            return phrase("Measure the food in it, and tell a manager.")
        words = message("Measure the food in it, it counts for each: {foods}.")
        return phrase(words, foods=_some(inside))

    def _trouble(self) -> Sentences:
        """Tell the worst that nobody decided: every later answer repeats it until somebody does."""
        if not self._older:
            return ()
        worst, name = self._older[0], self.subject.name
        more = len(self._older) - 1
        others = counted(
            "{count} more: haccp show {name}.", "{count} more: haccp show {name}.", more, name=name
        )
        told = (in_one_line(worst, self._clock), why(worst, self._clock))
        return (
            " ".join(filter(None, told)),
            how_to_decide(self.subject, self._older, self.session.register),
            *([others] if more else []),
        )

    def _estimate(self) -> Sentences:
        if not self._running:
            return ()
        from haccp.kitchen.cooling_estimate import brief

        return tuple(filter(None, [brief(self._running, self._clock)]))

    def _where(self) -> Sentences:
        """Say where food that was read somewhere stands on record; ask once how it cools."""
        subject, register, now = self.subject, self.session.register, self.session.now
        if not isinstance(subject, BatchOnRecord):
            return ()
        mine = [one for one in subject.readings if one.ref == self.reading.ref]
        held = TRAITS[self.reading.step].held_to and any(one.unit is None for one in mine)
        if held and not [*self._at_its_unit()]:
            stay = message("It stays in {unit}; if it stands elsewhere: haccp move {name} UNIT")
            return tuple(
                phrase(stay, unit=unit, name=subject.name) for unit in subject.places(register, now)
            )
        return tuple(self._how_it_cools(subject))

    def _how_it_cools(self, subject: BatchOnRecord) -> Iterator[str]:
        """Ask how it cools where an estimate needs to know, or where that seems to have changed."""
        goes_on = any(f.step is Step.COOL and f.verdict is Verdict.OPEN for f in self.after)
        if not (goes_on and self.reading.step is Step.COOL) or self._deviates:
            return
        from haccp.kitchen.cooling_conditions import setup_of
        from haccp.kitchen.cooling_estimate import surprise

        if self._running and (changed := surprise(self._running, self._clock)):
            yield changed
        first = sum(is_step(one, Step.COOL) for one in subject.readings) == 1
        if first and not setup_of(subject, self.session.register, self.session.now).nature:
            yield phrase(
                "For estimates say how it cools: "
                'haccp cooling-method {name} "walk-in" --nature thick --air 38F --from-start',
                name=subject.name,
            )


def _some(names: Sequence[str]) -> str:
    """List the first names, and say how many more there are."""
    first, more = ", ".join(names[:_NAMED]), len(names) - _NAMED
    if more <= 0:
        return first
    return counted("{names} and {count} more", "{names} and {count} more", more, names=first)


# Under which command a reading of a step is typed.
_COMMANDS = {
    Step.RECEIVE: "cool",
    Step.PREPARE: "prepare",
    Step.COOK: "cook",
    Step.HOT_HOLD: "hold",
    Step.COLD_HOLD: "hold",
    Step.COOL: "cool",
    Step.REHEAT: "reheat",
    Step.TIME_CONTROL: "time",
}


def _faster(found: "Running", name: str, degree: Degree, clock: ShowMoment) -> Iterator[str]:
    """Say what to do about a cooling that may not make it."""
    yield phrase(
        "Cool it faster: {ways} (best: haccp rescue {name}).",
        ways=phrase(_WAYS),
        name=name,
    )
    if found.reheat_by:
        yield phrase(
            "Or reheat it once, to {temp} for 15 s {by}.",
            temp="165 °F" if degree is Degree.F else "74 °C",
            by=by(found.reheat_by, clock),
        )


def _is_no_end(found: Finding) -> bool:
    """Whether something else is asked for than that food is served or gone."""
    return found.step is not Step.TIME_CONTROL and found.reason is not Reason.LAST_DAY


def _bad_in(one: Finding) -> set[str]:
    is_run = one.reason is Reason.OUT_OF_LIMITS
    return {reading.ref for reading in one.readings} if is_run else set()


def _about(
    reading: Reading,
    after: Sequence[Finding],
    before: Sequence[Finding],
    subject: OnRecord,
    register: Register,
    now: datetime,
) -> list[Finding]:
    """Pick what a reading decides about: findings that rest on its moment, new deviations."""

    def same(one: Finding) -> tuple[object, ...]:
        return (one.step, one.limit.name, one.since, one.verdict)

    known = {same(one) for one in before}
    told = {ref for one in before for ref in _bad_in(one)}

    def is_new(one: Finding) -> bool:
        # a run out of limits that a late reading cuts in two is not broken by that
        is_cut = one.reason is Reason.OUT_OF_LIMITS and _bad_in(one) <= told
        return one.verdict.is_deviation and same(one) not in known and not is_cut

    found = [
        finding
        for finding in after
        if any(one.at == reading.at for one in finding.readings) or is_new(finding)
    ]
    found = [finding for finding in found if finding.reason is not Reason.MISSED_CHECK]
    # a roast's oven is told at its first look, and stands undecided from then on
    found = [one for one in found if one.limit.name != "oven" or same(one) not in known]
    judged = any(one.step is reading.step or one.limit.name == _ARRIVED for one in found)
    if TRAITS[reading.step].held_to and not judged:
        # a good check after a bad one: the earlier deviation stands, this reading is fine
        limit = subject.held_to(reading, register, max(now, reading.at))
        found += judge_holding(reading.step, [reading], limit) if limit else ()
    return found

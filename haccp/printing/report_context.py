"""What every part of a report shares: the period, the record as it was, how moments are shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from haccp.kitchen.batch_facts import told_setup
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.review import Review
from haccp.kitchen.selection import WHOLE, Selection
from haccp.kitchen.stays import Stood, stays
from haccp.language import message, phrase
from haccp.record.bodies import (
    Assessed,
    ContainerOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    DeliveryRejected,
    Discarded,
    Diverted,
    DoubtSettled,
    Frozen,
    Measured,
    Moved,
    NotMeasured,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
    Withdrawn,
)
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.entries import Entry, having
from haccp.record.store import Record
from haccp.rules.evidence import Finding, Step
from haccp.rules.tcs import Result
from haccp.time import clock, day_starts, on_its_day, on_its_weekday


def _went_into(body: UsedUp) -> str:
    return phrase("went into {names}", names=", ".join(body.into)) if body.into else ""


def _done(body: CorrectiveAction) -> str:
    """Tell what was done; of the cause as much as was written."""
    if not body.cause:
        return body.text
    text, cause = body.text.rstrip("."), body.cause.rstrip(".")
    return phrase("{text}; cause: {cause}", text=text, cause=cause)


def _assessed(body: Assessed) -> str:
    return phrase(
        "{result}: pH {ph}, aw {water_activity}",
        result=phrase(_RESULTS[Result(body.result)]),
        ph=body.ph or "–",
        water_activity=body.water_activity or "–",
    )


_RESULTS = {
    Result.NON_TCS: message("non-TCS"),
    Result.PRODUCT_ASSESSMENT: message("product assessment"),
}


# What happened to a batch or unit beside its readings, in words.
EVENTS: dict[type, Any] = {
    CorrectiveAction: _done,
    NotMeasured: lambda body: body.reason,
    Discarded: lambda body: body.reason,
    Released: lambda body: body.reason,
    DeliveryRejected: lambda body: body.reason,
    Diverted: lambda body: body.to,
    SetApart: lambda body: body.reason,
    UsedUp: _went_into,
    UnitEmptied: lambda _: "",
    Frozen: lambda _: "",
    Thawed: lambda _: "",
    TakenOut: lambda _: "",
    Moved: lambda _: "",
    ContainerOpened: lambda _: "",
    Renamed: lambda body: phrase("the container is {name} now", name=body.name),
    Assessed: _assessed,
    CoolingSetup: told_setup,
    CoolingPlanned: lambda body: phrase("planned, an estimate: {asked}", asked=body.asked),
}


# With the hour by which the clocks may change.
_A_WEEK, _TWO_DAYS = timedelta(days=7, hours=1), timedelta(days=1, hours=2)

# What is entered about food.
OF_FOOD = (Measured, *EVENTS)


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every part of a report needs to be written."""

    record: Record
    register: Register
    review: Review
    begins: datetime
    ends: datetime
    printed: datetime
    days: tuple[date, ...]
    only: Selection
    _found: dict[str, list[Finding]] = field(default_factory=dict, repr=False, compare=False)
    _stays: list[Mapping[str, Sequence[Stood]]] = field(
        default_factory=list, repr=False, compare=False
    )

    @classmethod
    def of(
        cls,
        record: Record,
        register: Register,
        review: Review,
        first: date,
        last: date,
        printed: datetime,
        only: Selection = WHOLE,
    ) -> "Sheet":
        """Give the sheet of kitchen days `first` to `last`, both included.

        No day is left out from the first of the record to that of printing: an inspector asks
        about the one on which nothing was done. Of foods alone, those on which they were there.
        """
        zone = register.zone
        begun = register.settings[0].at.astimezone(zone).date()
        until = printed.astimezone(zone).date()
        if only.names_food and not (only.units or only.thermometers):
            lives = [(one.opened.at, one.ended or printed) for one in review.batches]
            begun = max(begun, min(began for began, _ in lives).astimezone(zone).date())
            until = min(until, max(ended for _, ended in lives).astimezone(zone).date())
        days = (first + timedelta(days=n) for n in range((last - first).days + 1))
        begins, ends = day_starts(first, zone), day_starts(last + timedelta(days=1), zone)
        return cls(
            record=record,
            register=register,
            review=review,
            begins=begins,
            ends=ends,
            printed=printed,
            days=tuple(day for day in days if begun <= day <= until),
            only=only,
        )

    @property
    def stays(self) -> Mapping[str, Sequence[Stood]]:
        """Give by unit what stood in it; worked out once, for a part perhaps never."""
        if not self._stays:
            known = stays(self.record, self.register, self.begins, self.ends, self.printed)
            self._stays.append(known)
        return self._stays[0]

    def found(self, subject: OnRecord) -> list[Finding]:
        """Give all that is found of a batch or unit, once for all the parts that ask."""
        if subject.name not in self._found:
            found = all_found(subject, self.record, self.register, self.printed)
            self._found[subject.name] = list(found)
        return self._found[subject.name]

    def judged(self, batch: BatchOnRecord) -> list[Finding]:
        """Give what is found of a batch as far as it was asked for."""
        found = self.found(batch)
        return [one for one in found if one.step is Step.COOL] if self.only.cooling_log else found

    def entries_of(self, batch: BatchOnRecord) -> Sequence[Entry]:
        """Give what was entered about a batch as far as it was asked for."""
        if not self.only.cooling_log:
            return batch.entries
        refs = {reading.ref for one in self.judged(batch) for reading in one.readings}
        mine = {
            one.ref: one.corrected_by
            for one in having(batch.entries, Measured)
            if one.body.step == Step.COOL or one.ref in refs
        }
        taken_back_by = set(mine.values())
        return [one for one in batch.entries if one.ref in mine or one.seq in taken_back_by]

    def entries(self) -> list[Entry]:
        """Give what was entered about moments of these days, as far as it was asked for."""
        every = self.record.during(self.begins, self.ends)
        if self.only.is_whole:
            return every
        shown = {one.seq for unit in self.review.units for one in unit.entries}
        shown |= {one.seq for batch in self.review.batches for one in self.entries_of(batch)}
        return [one for one in every if one.seq in shown or self._is_beside(one)]

    def _is_beside(self, entry: Entry) -> bool:
        """Whether an entry is about no food or unit and shown: the clock, and thermometers."""
        if isinstance(entry.body, ThermometerCheck | DoubtSettled):
            return self.only.thermometers
        is_of_food = entry.batch or entry.unit
        is_taken_back = isinstance(entry.body, Withdrawn) and not is_of_food
        return isinstance(entry.body, ClockMoved) or (is_taken_back and self.only.thermometers)

    def day_and_clock(self, moment: datetime) -> str:
        return on_its_day(moment, self.register.zone)

    def on(self, moment: datetime) -> str:
        """Show a moment as briefly as is clear on these pages: ``14:05``, ``Sat 14:05``."""
        zone = self.register.zone
        if not self.is_during(moment) or self.ends - self.begins > _A_WEEK:
            return on_its_day(moment, zone)
        one_day = self.ends - self.begins < _TWO_DAYS
        return clock(moment, zone) if one_day else on_its_weekday(moment, zone)

    def is_during(self, moment: datetime) -> bool:
        return self.begins <= moment < self.ends


def by_whom(entry: Entry, register: Register, *, proved: bool = False) -> str:
    """Give who made an entry; of a manager, whether a PIN proved it or anybody may have."""
    person = register.people.get(entry.person)
    till = register.history.till_of(entry)
    if proved or register.is_proved(entry):
        if till:
            return phrase("{person}, by PIN at {till}", person=entry.person, till=till)
        return phrase("{person}, by PIN", person=entry.person)
    if person is not None and person.role == "manager":
        return phrase("{person}, initials only", person=entry.person)
    return entry.person

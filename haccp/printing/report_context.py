"""What every part of a report shares: the period, the record as it was, how moments are shown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from haccp.kitchen.batch_facts import told_setup
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.review import Review
from haccp.kitchen.stays import Stood, stays
from haccp.language import message, phrase
from haccp.record.entries import (
    Assessed,
    ContainerOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    DeliveryRejected,
    Discarded,
    Diverted,
    Entry,
    Frozen,
    Measured,
    Moved,
    NotMeasured,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    UnitEmptied,
    UsedUp,
)
from haccp.record.store import Record
from haccp.rules.evidence import Finding
from haccp.rules.tcs import Result
from haccp.time import clock, day_starts, on_its_day, on_its_weekday


def _went_into(body: UsedUp) -> str:
    return phrase("went into {names}", names=", ".join(body.into)) if body.into else ""


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
    CorrectiveAction: lambda body: body.text,
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
    stays: Mapping[str, Sequence[Stood]]
    _found: dict[str, list[Finding]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(
        cls,
        record: Record,
        register: Register,
        review: Review,
        first: date,
        last: date,
        printed: datetime,
    ) -> "Sheet":
        """Give the sheet of kitchen days `first` to `last`, both included.

        No day is left out from the first of the record to that of printing: an inspector asks
        about the one on which nothing was done.
        """
        zone = register.zone
        begun = register.settings[0].at.astimezone(zone).date()
        until = printed.astimezone(zone).date()
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
            stays=stays(record, register, begins, ends, printed),
        )

    def found(self, subject: OnRecord) -> list[Finding]:
        """Give all that is found of a batch or unit, once for all the parts that ask."""
        if subject.name not in self._found:
            found = all_found(subject, self.record, self.register, self.printed)
            self._found[subject.name] = list(found)
        return self._found[subject.name]

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
    if proved or register.is_proved(entry):
        return phrase("{person}, by PIN", person=entry.person)
    if person is not None and person.role == "manager":
        return phrase("{person}, initials only", person=entry.person)
    return entry.person

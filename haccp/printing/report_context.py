"""What every part of a report shares: the period, the record as it was, how moments are shown."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from haccp.kitchen.batch_facts import told_setup
from haccp.kitchen.register import Register
from haccp.kitchen.review import Review
from haccp.limits import Limit
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
from haccp.rules.words import explain, taken
from haccp.time import on_its_day

# What happened to a batch or unit beside its readings, in words.
EVENTS: dict[type, Any] = {
    CorrectiveAction: lambda body: body.text,
    NotMeasured: lambda body: body.reason,
    Discarded: lambda body: body.reason,
    Released: lambda body: body.reason,
    DeliveryRejected: lambda body: body.reason,
    Diverted: lambda body: body.to,
    SetApart: lambda body: body.reason,
    UsedUp: lambda body: f"went into {', '.join(body.into)}" if body.into else "",
    UnitEmptied: lambda _: "",
    Frozen: lambda _: "",
    Thawed: lambda _: "",
    TakenOut: lambda _: "",
    Moved: lambda _: "",
    ContainerOpened: lambda _: "",
    Renamed: lambda body: f"the container is {body.name} now",
    Assessed: lambda body: f"{body.result}: pH {body.ph or '–'}, aw {body.water_activity or '–'}",
    CoolingSetup: told_setup,
    CoolingPlanned: lambda body: f"planned, an estimate: {body.asked}",
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every part of a report needs to be written."""

    record: Record
    register: Register
    review: Review
    begins: datetime
    ends: datetime
    printed: datetime
    full: bool

    def day_and_clock(self, moment: datetime) -> str:
        return on_its_day(moment, self.register.zone)

    def is_during(self, moment: datetime) -> bool:
        return self.begins <= moment < self.ends


def by_whom(entry: Entry, register: Register, *, proved: bool = False) -> str:
    """Give who made an entry; of a manager, whether a PIN proved it or anybody may have."""
    person = register.people.get(entry.person)
    if proved or register.is_proved(entry):
        return f"{entry.person}, by PIN"
    is_manager = person is not None and person.role == "manager"
    return f"{entry.person}, initials only" if is_manager else entry.person


def told(finding: Finding, sheet: Sheet) -> dict[str, str]:
    sentences = (make(finding, sheet.day_and_clock) for make in (explain, taken))
    return {
        "verdict": finding.verdict,
        "limit": named(finding.limit),
        "citation": finding.limit.citation,
        "why": " ".join(filter(None, sentences)),
    }


def named(limit: Limit) -> str:
    name = limit.name.replace("-", " ").capitalize()
    return f"{name}, {limit.kind}" if limit.kind else name

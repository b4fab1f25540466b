"""Which batches stood in a unit, and when: the other side of a batch's account."""

from collections.abc import Iterator
from datetime import datetime

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.review import left_in
from haccp.record.store import Record
from haccp.rules.account.life import Stay
from haccp.rules.account_in_words import from_to
from haccp.rules.asked import ShowMoment


def stood_in(
    unit: str, record: Record, register: Register, since: datetime, until: datetime, now: datetime
) -> Iterator[tuple[BatchOnRecord, Stay]]:
    """Give each batch that stood in a unit in [since, until), as known at a moment, by time."""
    found = {
        (batch.name, stay): batch
        for batch in left_in(record, since, until)
        for way in batch.account(register, now).ways
        for stay in way.stays
        if stay.unit == unit and stay.is_during(since, until)
    }
    ordered = sorted(found.items(), key=lambda one: (one[0][1].began, one[0][0]))
    return ((batch, stay) for (_, stay), batch in ordered)


def stood_in_words(
    unit: str,
    record: Record,
    register: Register,
    since: datetime,
    until: datetime,
    now: datetime,
    when: ShowMoment,
) -> str:
    """List the batches that stood in a unit, each with its times; empty where none did."""
    return "; ".join(
        f"{batch.title} {from_to(stay, when, register.zone)}"
        for batch, stay in stood_in(unit, record, register, since, until, now)
    )

"""Which batches stood in a unit, and when: the other side of a batch's account."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.review import left_in
from haccp.record.store import Record
from haccp.rules.account.life import Stay
from haccp.rules.account_in_words import from_to
from haccp.rules.asked import ShowMoment

Stood = tuple[BatchOnRecord, Stay]


def stays(
    record: Record, register: Register, since: datetime, until: datetime, now: datetime
) -> Mapping[str, Sequence[Stood]]:
    """Give by unit each batch that stood in it in [since, until), as known at a moment, by time."""
    found = {
        (batch.name, stay): batch
        for batch in left_in(record, since, until)
        for way in batch.account(register, now).ways
        for stay in way.stays
        if stay.is_during(since, until)
    }
    by_unit: dict[str, list[Stood]] = defaultdict(list)
    for (_, stay), batch in sorted(found.items(), key=lambda one: (one[0][1].began, one[0][0])):
        by_unit[stay.unit].append((batch, stay))
    return by_unit


def stood_in_words(stood: Iterable[Stood], when: ShowMoment, zone: ZoneInfo) -> str:
    """List the batches that stood in a unit, each with its times; empty where none did."""
    return "; ".join(f"{batch.title} {from_to(stay, when, zone)}" for batch, stay in stood)

"""The accounts of a kitchen's batches, as its record has them."""

from contextlib import closing

from haccp.kitchen.lives import read_lives
from haccp.kitchen.register import read_register
from haccp.record.store import open_record
from haccp.rules.account.judge import Judged, judge
from haccp.rules.account.life import Life
from tests.kitchens import Kitchen


def life(kitchen: Kitchen, code: str) -> Life:
    with closing(open_record(kitchen.path, create=False)) as record:
        entries = [entry for entry in record.entries() if not entry.corrected_by]
        return read_lives(entries, read_register(record))[code]


def account(kitchen: Kitchen, code: str) -> Judged:
    """Judge a batch's whole life as of the kitchen's now."""
    lived = life(kitchen, code)
    assert lived.opened is not None
    with closing(open_record(kitchen.path, create=False)) as record:
        return judge(lived, read_register(record).limits_at(lived.opened), kitchen.now)


def told(kitchen: Kitchen, code: str) -> list[str]:
    """Name the deviations of an account."""
    bad = [one for one in account(kitchen, code).findings if one.verdict.is_deviation]
    return [f"{one.limit.name} {one.verdict.value}" for one in bad]

"""The accounts of a kitchen's batches, as its record has them."""

from contextlib import closing

from haccp.kitchen.reading import read_batch
from haccp.kitchen.register import read_register
from haccp.record.store import open_record
from haccp.rules.account.judge import Judged
from haccp.rules.account.life import Life
from tests.kitchens import Kitchen


def life(kitchen: Kitchen, code: str) -> Life:
    with closing(open_record(kitchen.path, create=False)) as record:
        batch = read_batch(record.as_it_stands(), code)
        return batch.life(read_register(record), kitchen.now)


def account(kitchen: Kitchen, code: str) -> Judged:
    """Judge a batch's whole life as of the kitchen's now."""
    with closing(open_record(kitchen.path, create=False)) as record:
        return read_batch(record.as_it_stands(), code).account(read_register(record), kitchen.now)


def told(kitchen: Kitchen, code: str) -> list[str]:
    """Name the deviations of an account."""
    bad = [one for one in account(kitchen, code).findings if one.verdict.is_deviation]
    return [f"{one.limit.name} {one.verdict.value}" for one in bad]

"""Entries that tests of the record make; they are invented."""

from datetime import UTC, datetime

from haccp.record.bodies import Measured
from haccp.record.entries import Draft

NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)


def measured(temp: int, *, person: str = "JM", note: str = "", batch: str = "stew") -> Draft:
    body = Measured(step="cool", temp=str(temp), degree="F", note=note)
    return Draft(body=body, at=NOON, person=person, batch=batch)

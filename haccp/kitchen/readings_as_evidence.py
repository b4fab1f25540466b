"""What an entry says, as evidence for the rules."""

from datetime import timedelta
from decimal import Decimal, InvalidOperation
from typing import TypeGuard

from haccp.errors import Refused
from haccp.kitchen.register import Register
from haccp.language import phrase
from haccp.record.bodies import Measured
from haccp.record.entries import Entry
from haccp.rules.evidence import Reading, Step
from haccp.temperature import Degree, Temperature, parse_temperature


def reading_of(entry: Entry[Measured], register: Register) -> Reading:
    """Turn an entry into evidence, with the doubt that its thermometer's checks throw on it."""
    body = entry.body
    try:
        return Reading(
            at=entry.at,
            temperature=Temperature(Decimal(body.temp), Degree(body.degree)),
            step=Step(body.step),
            held=timedelta(microseconds=int(Decimal(body.held_s) * 1_000_000)),
            doubted_since=register.doubted_since(body.thermometer, entry.at),
            ref=entry.ref,
            method=body.method,
            chamber=parse_temperature(body.chamber) if body.chamber else None,
            accuracy=register.accuracy_at(body.thermometer, entry.at),
            thermometer=body.thermometer,
        )
    except (ValueError, InvalidOperation):
        raise Refused(
            phrase("Entry no. {seq} was altered: ask haccp record verify.", seq=entry.seq)
        ) from None


def is_step(entry: Entry, step: Step) -> TypeGuard[Entry[Measured]]:
    return isinstance(entry.body, Measured) and entry.body.step == step

"""What an entry says, as evidence for the rules."""

from datetime import timedelta
from decimal import Decimal, InvalidOperation
from functools import lru_cache
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
            temperature=_temperature(body.temp, body.degree),
            step=_STEPS[body.step],
            held=_held(body.held_s) if body.held_s != "0" else _NOT_HELD,
            doubted_since=register.doubted_since(body.thermometer, entry.at),
            ref=entry.ref,
            method=body.method,
            chamber=parse_temperature(body.chamber) if body.chamber else None,
            accuracy=register.accuracy_at(body.thermometer, entry.at),
            thermometer=body.thermometer,
        )
    except (KeyError, ValueError, InvalidOperation):
        raise Refused(
            phrase("Entry no. {seq} was altered: ask haccp record verify.", seq=entry.seq)
        ) from None


_STEPS = {step.value: step for step in Step}
_NOT_HELD = timedelta(0)


@lru_cache(maxsize=4096)  # a kitchen's readings are alike
def _temperature(value: str, degree: str) -> Temperature:
    return Temperature(Decimal(value), Degree(degree))


@lru_cache(maxsize=256)
def _held(seconds: str) -> timedelta:
    return timedelta(microseconds=int(Decimal(seconds) * 1_000_000))


def is_step(entry: Entry, step: Step) -> TypeGuard[Entry[Measured]]:
    return isinstance(entry.body, Measured) and entry.body.step == step

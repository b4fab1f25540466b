"""What each field of an entry's body may hold, so that whatever reads one can rely on it.

`DOMAINS` is the whole of it: a row for each kind, a domain for each of its fields. A domain takes
what any version has written; what lies outside was altered, or made by a newer haccp.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from haccp.catalogs import LANGUAGES
from haccp.equipment import parse_equipment
from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.opening_hours import parse_hours
from haccp.rules.account.steps import TRAITS
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import Step
from haccp.rules.tcs import Result
from haccp.temperature import Degree, parse_temperature
from haccp.time import MAX_YEAR, MIN_YEAR, from_stored, zone_named

# Longer than anything that was ever asked for, short enough for a page and a terminal.
_LONGEST_TEXT = 2_000
_LONGEST_FILE = 1_000_000
_LONGEST_NAME = 200
_MOST_TEXTS = 5_000

# A plain number, also as Python writes a very small one (1E-7).
_NUMBER = re.compile(
    r"[+-]?(?:[0-9]{1,9}(?:\.[0-9]{1,12})?|[0-9](?:\.[0-9]{1,12})?E[+-][0-9]{1,2})"
)
_FINITE = re.compile(r"-?[0-9]{1,6}(?:\.[0-9]{1,17})?(?:e-[0-9]{1,3})?")
_A_LOGGED = r"(?:0|[1-9][0-9]{0,3}) -?[0-9]{1,4}(?:\.[0-9]{1,6})?"
_LOGGED = re.compile(rf"{_A_LOGGED}(?:\n{_A_LOGGED}){{0,4999}}")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_OF_TILL = re.compile(r"[A-Za-z0-9_-]{1,24} [0-9]{1,12} [0-9a-f]{64} [0-9a-f]{64}")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True, slots=True)
class Domain:
    """What a value may be, and the words for it: a message, and what it has places for."""

    what: str
    holds: Callable[[Any], bool]
    places: Mapping[str, Any] = field(default_factory=dict)

    def told(self) -> str:
        """Say what it may be."""
        said = {
            name: place.told() if isinstance(place, Domain) else place
            for name, place in self.places.items()
        }
        return phrase(self.what, **said)


def _is_text(value: Any, longest: int = _LONGEST_TEXT) -> bool:
    """Whether a value is a text that can be stored: no half of a character stands in it."""
    return (
        isinstance(value, str)
        and len(value) <= longest
        and (value.isascii() or not any("\ud800" <= one <= "\udfff" for one in value))
    )


def _is_number(value: Any, low: Decimal, high: Decimal) -> bool:
    return _is_text(value) and bool(_NUMBER.fullmatch(value)) and low <= Decimal(value) <= high


def _is_parsed(value: Any, parse: Callable[[str], Any]) -> bool:
    try:
        parse(value if _is_text(value) else "")
    except (Refused, ValueError):
        return False
    return True


def _is_day(value: Any) -> bool:
    is_date = _is_text(value) and _DAY.fullmatch(value) and _is_parsed(value, date.fromisoformat)
    return bool(is_date) and MIN_YEAR <= int(value[:4]) <= MAX_YEAR


def _is_curve_point(value: Any) -> bool:
    numbers = value.split(" ") if _is_text(value) else []
    return len(numbers) == 4 and all(_FINITE.fullmatch(one) for one in numbers)


def _are_logged(value: Any) -> bool:
    """Whether a value is a run of readings; looked at as a whole, as there are millions of them."""
    if not (isinstance(value, tuple) and {*map(type, value)} == {str}):
        return False
    lines = "\n".join(value)
    return bool(_LOGGED.fullmatch(lines)) and lines.count("\n") == len(value) - 1


def _number(low: str, high: str) -> Domain:
    ends = Decimal(low), Decimal(high)
    words = message("a number from {low} to {high}")
    return Domain(words, lambda value: _is_number(value, *ends), {"low": low, "high": high})


def _whole(low: int, high: int) -> Domain:
    return Domain(
        message("a whole number from {low} to {high}"),
        lambda value: type(value) is int and low <= value <= high,
        {"low": low, "high": high},
    )


def _one_of(*values: str) -> Domain:
    known = frozenset(values)
    return Domain(
        message("one of {values}"),
        lambda value: isinstance(value, str) and value in known,
        {"values": ", ".join(values)},
    )


def _or_empty(domain: Domain) -> Domain:
    return Domain(
        message("{what}, or empty"),
        lambda value: value == "" or domain.holds(value),
        {"what": domain},
    )


def _texts(domain: Domain) -> Domain:
    return Domain(
        message("a list, each {what}"),
        lambda value: (
            isinstance(value, tuple) and len(value) <= _MOST_TEXTS and all(map(domain.holds, value))
        ),
        {"what": domain},
    )


_TEXT = Domain(message("a text that can be printed"), _is_text)
_FILE = Domain(message("a file's text"), lambda value: _is_text(value, _LONGEST_FILE))
_NAME = Domain(message("a name"), lambda value: _is_text(value) and bool(value.strip()))
_TRUTH = Domain(message("true or false"), lambda value: isinstance(value, bool))
_DATE = Domain(message("a day"), _is_day)
_MOMENT = Domain(message("a moment"), lambda value: _is_parsed(value, from_stored))
_HOURS = Domain(message("opening hours"), lambda value: _is_parsed(value, parse_hours))
_EQUIPMENT = Domain(message("equipment"), lambda value: _is_parsed(value, parse_equipment))
_ZONE = Domain(message("a time zone"), lambda value: _is_parsed(value, zone_named))
_SHA256 = Domain(
    message("a digest"), lambda value: isinstance(value, str) and bool(_DIGEST.fullmatch(value))
)
_NONCE = Domain(
    message("32 hexadecimal digits"),
    lambda value: _is_text(value) and bool(re.fullmatch(r"[0-9a-f]{32}", value)),
)
_HEAD = _or_empty(_SHA256)
_TILL_HEAD = Domain(
    message("a till's name, entry and two digests"),
    lambda value: _is_text(value) and bool(_OF_TILL.fullmatch(value)),
)
_WITH_DEGREE = Domain(
    message("a temperature with its degree"), lambda value: _is_parsed(value, parse_temperature)
)
_DIFFERENCE = Domain(
    message("a difference of temperatures, not below zero"),
    lambda value: _WITH_DEGREE.holds(value) and parse_temperature(value).value >= 0,
)
_TEMPERATURE = _number("-9999", "9999")
_HELD = _number("0", "999999999")
_DEPTH = _or_empty(_number("0", "1000"))
_DEGREE = _one_of(*Degree)
_STEP = _one_of(*Step)
_METHOD = _or_empty(_one_of(*sorted({one for step in Step for one in TRAITS[step].methods})))
_NATURE = _or_empty(_one_of("open liquid", "stirred", "thick"))
_HOLDS = _one_of("hot", "cold", "egg", "frozen")
_OVENS = ("still dry", "convection", "high humidity")
_OVEN = _or_empty(_one_of(*_OVENS, "none"))
_ASSESSED = _or_empty(_number("0", "99"))
_INTERVAL = _whole(1, 10_080)
_COUNT = _whole(0, 2**31)
_LANGUAGE = _or_empty(_one_of(*LANGUAGES))
_REASON = {"reason": _TEXT}

# By the kind of entry, and in it by the field.
DOMAINS: Mapping[str, Mapping[str, Domain]] = {
    "kitchen": {
        "name": _NAME,
        "zone": _ZONE,
        "degree": _DEGREE,
        "altitude_m": _whole(-1_000, 10_000),
        "limit_set": _NAME,
        "overrides": _FILE,
        "limits_digest": _SHA256,
        "guard": _or_empty(_DIFFERENCE),
        "check_every_min": _INTERVAL,
        "grace_min": _whole(0, 10_080),
        "daily_copies": _whole(0, 4_000),
        "thermometer_days": _whole(0, 4_000),
        "late_reheat": _TEXT,
        "open_hours": _or_empty(_HOURS),
        "longest_closure": _whole(0, 400),
        "owns": _or_empty(_EQUIPMENT),
        "address": _TEXT,
        "permit": _TEXT,
        "in_charge": _TEXT,
        "walk": _texts(_NAME),
        "language": _LANGUAGE,
        "typeface": _TEXT,
        "nonce": _or_empty(_NONCE),
    },
    "closed day": {"first": _DATE, "last": _DATE, **_REASON},
    "person": {
        "initials": _NAME,
        "name": _NAME,
        "role": _one_of("cook", "manager"),
        "active": _TRUTH,
        "language": _LANGUAGE,
    },
    "thermometer": {"label": _NAME, "accuracy": _DIFFERENCE, "active": _TRUTH},
    "thermometer check": {
        "thermometer": _NAME,
        "temp": _TEMPERATURE,
        "degree": _DEGREE,
        "passed": _TRUTH,
        "expected": _or_empty(_TEMPERATURE),
        "by": _TEXT,
    },
    "thermometer decision": {"thermometer": _NAME, **_REASON},
    "unit": {
        "name": _NAME,
        "holds": _HOLDS,
        "every_min": _INTERVAL,
        "active": _TRUTH,
        "usual": _TRUTH,
    },
    "unit emptied": {},
    "food": {
        "name": _NAME,
        "food_kind": _TEXT,
        "steps": _texts(_STEP),
        "nature": _NATURE,
        "container": _TEXT,
        "depth_in": _DEPTH,
        "active": _TRUTH,
        "unit": _TEXT,
    },
    "letter of acceptance": {"oven": _one_of(*_OVENS), "authority": _NAME, "letter": _DATE},
    "batch": {
        "food": _NAME,
        "food_kind": _TEXT,
        "amount": _TEXT,
        "made_from": _texts(_NAME),
        "ambient": _TRUTH,
        "portion_of": _texts(_NAME),
        "received_as": _or_empty(_HOLDS),
        "supplier": _TEXT,
        "by_law": _TEXT,
        "oven": _OVEN,
        "weight_lb": _or_empty(_number("0", "99999")),
        "use_by": _or_empty(_DATE),
        "undercooked": _TRUTH,
        "to_order": _TRUTH,
        "date_mark_exempt": _or_empty(_one_of(*EXEMPT)),
    },
    "reading": {
        "step": _STEP,
        "temp": _TEMPERATURE,
        "degree": _DEGREE,
        "held_s": _HELD,
        "thermometer": _TEXT,
        "note": _TEXT,
        "confirmed": _TRUTH,
        "reason": _TEXT,
        "paper": _TRUTH,
        "method": _METHOD,
        "chamber": _or_empty(_WITH_DEGREE),
        "next_look": _or_empty(_MOMENT),
    },
    "logged readings": {
        "step": _STEP,
        "degree": _DEGREE,
        "readings": Domain(message("a list, each seconds and a temperature"), _are_logged),
        "probe": _TEXT,
        "source": _NAME,
        "source_digest": _SHA256,
        "thermometer": _TEXT,
    },
    "readings left out": {"of": _COUNT, "first": _MOMENT, **_REASON},
    "not measured": _REASON,
    "corrective action": {"text": _TEXT, "cause": _TEXT},
    "release": _REASON,
    "discard": _REASON,
    "diversion": {"to": _TEXT},
    "set apart": _REASON,
    "rejection": _REASON,
    "freezing": {},
    "thawing": {},
    "taken out": {},
    "moved": {},
    "container opened": {},
    "renaming": {"name": _NAME},
    "assessment": {
        "ph": _ASSESSED,
        "water_activity": _ASSESSED,
        "heat_treated": _TRUTH,
        "packaged": _TRUTH,
        "result": _one_of(*Result),
    },
    "used up": {"into": _texts(_NAME)},
    "cooling plan": {
        "asked": _TEXT,
        "curve": _texts(Domain(message("minutes and three temperatures"), _is_curve_point)),
    },
    "cooling setup": {
        "nature": _NATURE,
        "air": _or_empty(_WITH_DEGREE),
        "air_to": _or_empty(_WITH_DEGREE),
        "method": _TEXT,
        "container": _TEXT,
        "depth_in": _DEPTH,
        "changed": _TRUTH,
    },
    "withdrawal": _REASON,
    "signature": {"day": _DATE, "undecided": _COUNT, "note": _TEXT, "heads": _texts(_TILL_HEAD)},
    "pin set": {"initials": _NAME, "proved": _TRUTH},
    "restored": {
        "replaced": _COUNT,
        "replaced_digest": _HEAD,
        "restored": _COUNT,
        "restored_digest": _SHA256,
        "proved": _TRUTH,
    },
    "handed over": {
        "server": _TEXT,
        "until": _COUNT,
        "head": _SHA256,
        "received_at": _MOMENT,
        "signature": _SHA256,
    },
    "fork kept": {
        "server": _TEXT,
        "after": _COUNT,
        "entries": _COUNT,
        "head": _HEAD,
        "about": _texts(_NAME),
        "since": _or_empty(_MOMENT),
        "holds": _texts(_SHA256),
    },
    "fork decided": {
        "server": _TEXT,
        "after": _COUNT,
        "entries": _COUNT,
        "head": _SHA256,
        **_REASON,
    },
    "clock": {"last_entered_at": _MOMENT, "seconds": _whole(-(10**10), 10**10)},
}


def misfit(kind: str, content: Mapping[str, Any]) -> str:
    """Say which field of a body does not hold what it may; empty where each does."""
    domains = DOMAINS[kind]
    for name, value in content.items():
        if name not in domains:
            unknown = message("it has a {name}, which this version does not know")
            return phrase(unknown, name=repr(name))
        if not domains[name].holds(value):
            return phrase("its {name} is not {what}", name=repr(name), what=domains[name].told())
    # an oven's limit is by the weight of the roast
    by_weight = kind == "batch" and content.get("oven") in ("still dry", "convection")
    if by_weight and not content.get("weight_lb"):
        return phrase("it names an oven and no weight")
    for name in ("curve", "readings"):
        if name in content and not content[name]:
            return phrase("its {name} is empty", name=repr(name))
    return ""


def misplaced(row: Mapping[str, Any]) -> str:
    """Say what beside an entry's moments and body is not as it must be; empty where all is."""
    if not (_is_text(row["kind"]) and isinstance(row["body"], str)):
        return phrase("its kind or body is no text")
    for column in ("person", "batch", "unit"):
        name = row[column]
        if not _is_name(name) and (name is not None or column == "person"):
            return phrase("its {column} is no name", column=column)
    if row["kind"] == "batch" and not row["batch"]:
        return phrase("it opens a batch and does not say which")
    if row["kind"] == "moved" and not (row["batch"] and row["unit"]):
        return phrase("it moves a batch and does not say which, or not where to")
    corrects = row["corrects"]
    if corrects is not None and not (type(corrects) is int and 0 < corrects < row["seq"]):
        return phrase("what it corrects is no earlier entry")
    return ""


def _is_name(value: Any) -> bool:
    return isinstance(value, str) and _is_known_name(value)


@lru_cache(maxsize=4096)  # few names stand in many entries
def _is_known_name(name: str) -> bool:
    return bool(name) and _is_text(name, _LONGEST_NAME)


def numbered(seq: Any) -> int:
    """Take an entry's number; raises Refused for none: then the table itself is damaged."""
    if not isinstance(seq, int):
        words = message(
            "An entry has no number, so the record is damaged: restore it from a backup."
        )
        raise Refused(phrase(words))
    return seq


def legible(row: Mapping[str, Any]) -> dict[str, Any]:
    """Give an entry's columns, which may hold anything, as texts that can be stored and printed."""
    corrects = row["corrects"]
    texts = {
        column: str(row[column]).encode("utf-8", "backslashreplace").decode()[:_LONGEST_TEXT]
        for column in ("kind", "person", "batch", "unit", "body")
        if row[column] is not None
    }
    empty = {"kind": "", "person": "", "batch": None, "unit": None, "body": ""}
    return {**empty, **texts, "corrects": corrects if type(corrects) is int else None}

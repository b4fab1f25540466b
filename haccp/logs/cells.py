"""What a cell of a logger's file may say: a day, a time of day, a number, or nothing at all.

Each reading of a text says under which of its meanings it can stand; nothing is chosen here.
"""

import re
from datetime import UTC, date, datetime, timedelta

# By which of its numbers a date begins; a file's own dates decide, else whoever loads it.
ORDERS = ("dmy", "mdy", "ymd")

_DATE = re.compile(r"(\d{1,4})([-/.])(\d{1,2}|[A-Za-z]{3})\2(\d{1,4})")
_TIME = re.compile(
    r"(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,]\d{1,9})?)?\s*([AaPp]\.?\s?[Mm]\.?)?"
    r"\s*(Z|UTC|GMT|[+-]\d\d(?::?\d\d)?)?"
)
_EPOCH = re.compile(r"1\d{9}(?:\d{3})?")
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NUMBER = re.compile(
    r"(?P<sign>[+\u2212-]?)(?P<number>\d[\d.,'\u2019\u00a0\u202f]*|[.,]\d+)"
    r"\s*(?:(?:°|º|deg\.?)?\s*(?P<degree>[FC]))?",
    re.IGNORECASE,
)
_NOTHING = re.compile(
    r"-+|\*+|\?+|_+|n/?a|nan|null|none|err(?:or)?\.?|e\d*|open|short|fault|ol|lo|hi|over|under|lost",
    re.IGNORECASE,
)
_DEGREE_NAMED = re.compile(
    r"(?:°|º|\bdeg(?:rees)?\.?)\s*([FC])\b|[(\[]\s*([FC])\s*[)\]]|temp[a-z]*[_\s.]*([FC])$"
    r"|\b(F)ahrenheit\b|\b(C)elsius\b",
    re.IGNORECASE,
)
_UNIT_ALONE = re.compile(r"(?:°|º|deg\.?)?\s*([FC])|fahrenheit|celsius", re.IGNORECASE)


def is_nothing(cell: str) -> bool:
    """Whether a cell says that there is no value, as loggers do."""
    return not cell or bool(_NOTHING.fullmatch(cell))


def parted(cell: str) -> tuple[str, str]:
    """Part a moment into its day and its time of day; one of them may be empty."""
    day, _, clock = cell.partition("T" if cell[10:11] == "T" else " ")
    if clock or _DATE.fullmatch(day.rstrip(",")):
        return day.rstrip(","), clock.strip()
    return "", cell


def day_in(text: str, order: str) -> date | None:
    """Read a day by the order of its numbers; None where it is none by that order."""
    found = _DATE.fullmatch(text)
    if not found:
        return None
    first, _, middle, last = found.groups()
    if len(first) > 2:
        year, month, day = first, middle, last
        fits = order in ORDERS and len(first) == 4 and len(last) <= 2
    elif middle.isalpha():
        day, month, year = first, middle, last
        fits = len(last) == 4
    else:
        named = dict(zip(order, (first, middle, last), strict=True))
        day, month, year = named["d"], named["m"], named["y"]
        fits = len(year) in (2, 4) and len(day) <= 2
    if not fits:
        return None
    number = _MONTHS.index(month.lower()) + 1 if month.lower() in _MONTHS else month
    try:
        return date(int(year) + (2000 if len(year) == 2 else 0), int(number), int(day))
    except ValueError:
        return None


def time_in(text: str) -> tuple[int, timedelta | None] | None:
    """Read a time of day in seconds, and its offset from UTC where it has one."""
    found = _TIME.fullmatch(text)
    if not found:
        return None
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    if found[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found[4][0] in "pP" else 0)
    if hour > 23 or minute > 59 or second > 59:
        return None
    return hour * 3600 + minute * 60 + second, _offset(found[5]) if found[5] else None


def _offset(text: str) -> timedelta:
    if text[0] not in "+-":
        return timedelta(0)
    digits = text[1:].replace(":", "").ljust(4, "0")
    ahead = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    return -ahead if text[0] == "-" else ahead


def offset_typed(text: str) -> timedelta | None:
    """Read an offset from UTC as it is typed, ``-07:00`` or ``UTC``; None for anything else."""
    is_one = re.fullmatch(r"Z|UTC|GMT|[+-]\d\d:?\d\d", text)
    return _offset(text) if is_one else None


def has_half_of_a_day(text: str) -> bool:
    """Whether a time says that it is before or after noon."""
    found = _TIME.fullmatch(text)
    return bool(found and found[4])


def epoch_in(text: str) -> datetime | None:
    """Read seconds or thousandths since 1970, in UTC."""
    if not _EPOCH.fullmatch(text):
        return None
    return datetime.fromtimestamp(int(text[:10]), UTC)


def number_parts(cell: str) -> tuple[str, str, str] | None:
    """Part a number into sign, digits with their marks, and the degree that stands behind it."""
    found = _NUMBER.fullmatch(cell)
    if not found:
        return None
    sign = "-" if found["sign"] in ("-", "\u2212") else ""
    return sign, found["number"], (found["degree"] or "").upper()


def plain_number(digits: str, decimal: str) -> str | None:
    """Write digits with a decimal mark as a plain number; None where the marks do not stand so."""
    whole, _, part = digits.rpartition(decimal) if decimal in digits else (digits, "", "")
    if not re.fullmatch(r"\d{1,3}(?:([.,'\u2019\u00a0\u202f])\d{3}(?:\1\d{3})*)|\d*", whole):
        return None
    if (part and not part.isdecimal()) or decimal in whole:
        return None
    whole = re.sub(r"\D", "", whole).lstrip("0") or "0"
    return f"{whole}.{part}" if part else whole


def degree_in(name: str) -> str:
    """Give the degree that a column's name says; empty where it says none, or both."""
    found = {next(filter(None, one)).upper() for one in _DEGREE_NAMED.findall(name)}
    return found.pop() if len(found) == 1 else ""


def unit_alone(cell: str) -> str:
    """Give the degree where a cell is nothing but its sign; else empty."""
    found = _UNIT_ALONE.fullmatch(cell)
    return (found[1] or cell[0]).upper() if found else ""

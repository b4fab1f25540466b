"""Logger files of our own invention: a known series, written in some dialect or other."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

Truth = Mapping[str, Sequence[tuple[datetime, str]]]
DENVER = ZoneInfo("America/Denver")


@dataclass(frozen=True)
class Dialect:
    """How a file is written. `order` is how its days are, `zone` what stands behind its clocks."""

    delimiter: str = ","
    decimal: str = "."
    order: str = "ymd"
    sign: str = "-"
    encoding: str = "utf-8"
    preamble: bool = False
    head: bool = True
    degree: str = "name"  # name, cell or nowhere
    parted: bool = False
    half_days: bool = False
    zone: str = ""  # "", Z or offset
    long: bool = False
    counter: bool = False
    footer: bool = False
    faults: bool = False
    newest_first: bool = False
    short_year: bool = False

    def day(self, at: datetime) -> str:
        year = f"{at:%y}" if self.short_year else f"{at:%Y}"
        parts = {"d": f"{at:%d}", "m": f"{at:%m}", "y": year}
        return self.sign.join(parts[one] for one in self.order)

    def clock(self, at: datetime) -> str:
        text = f"{at:%I:%M:%S %p}" if self.half_days else f"{at:%H:%M:%S}"
        return text + {"": "", "Z": "Z", "offset": f"{at:%z}"}[self.zone]

    def moment(self, at: datetime) -> list[str]:
        local = at.astimezone(UTC if self.zone == "Z" else DENVER)
        both = [self.day(local), self.clock(local)]
        return both if self.parted else [" ".join(both)]

    def number(self, temp: str, degree: str) -> str:
        sign = f" °{degree}" if self.degree == "cell" else ""
        return temp.replace(".", self.decimal) + sign


def written(truth: Truth, degree: str, how: Dialect) -> bytes:
    """Write each probe's readings; in wide form all probes have the same moments."""
    rows = [*(_long if how.long else _wide)(truth, degree, how)]
    if how.newest_first:
        rows.reverse()
    out = io.StringIO()
    writer = csv.writer(out, delimiter=how.delimiter, lineterminator="\r\n")
    if how.preamble:
        out.write("A logger of our own\r\nSerial 12345\r\n\r\n")
    if how.head:
        writer.writerow(_head(truth, degree, how))
    for number, row in enumerate(rows, start=1):
        writer.writerow([str(number), *row] if how.counter else row)
        if how.faults and number == 2:
            broken = [*row[:-1], "---"]
            writer.writerow([str(number), *broken] if how.counter else broken)
    if how.footer:
        out.write("\r\n")
        writer.writerow(["Lowest", *[""] * (len(rows[0]) - 1 + how.counter)])
    return out.getvalue().encode(how.encoding)


def _head(truth: Truth, degree: str, how: Dialect) -> list[str]:
    sign = f" (°{degree})" if how.degree == "name" else ""
    when = ["Day", "Clock"] if how.parted else ["When"]
    names = ["Probe", f"Temperature{sign}"] if how.long else [f"{one}{sign}" for one in truth]
    return [*(["No."] if how.counter else []), *when, *names]


def _wide(truth: Truth, degree: str, how: Dialect) -> list[list[str]]:
    return [
        [*how.moment(together[0][0]), *(how.number(temp, degree) for _, temp in together)]
        for together in zip(*truth.values(), strict=True)
    ]


def _long(truth: Truth, degree: str, how: Dialect) -> list[list[str]]:
    return [
        [*how.moment(at), probe, how.number(temp, degree)]
        for together in zip(*truth.values(), strict=True)
        for probe, (at, temp) in zip(truth, together, strict=True)
    ]


def steady(
    begins: datetime, temperatures: Sequence[str], minutes: int = 5
) -> list[tuple[datetime, str]]:
    every = timedelta(minutes=minutes)
    return [(begins + k * every, temp) for k, temp in enumerate(temperatures)]

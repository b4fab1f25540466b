"""Readings in, findings and curves out, as pandas DataFrames: what other programs may build on.

    from haccp import frames

    findings = frames.judged(readings)          # a DataFrame of readings, or pandas.read_csv(...)
    picture = frames.drawn(readings, "pot")     # SVG, PNG or PDF of its coolings, as bytes
    readings, findings = frames.on_record("record.sqlite3", "2026-10-26", "2026-11-01")

Everything else in haccp may change from one version to the next. The verdicts are the rules' own:
met, not met, not shown, open, stopped; no frame decides. Errors are `haccp.errors.Refused`, one
sentence each.
"""

import io
from collections.abc import Iterable, Sequence
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any, Literal, NamedTuple
from zoneinfo import ZoneInfo

import pandas as pd

from haccp import limits
from haccp.errors import Refused
from haccp.kitchen.cooling_estimate import coolings
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register, read_register
from haccp.kitchen.review import Review, review, walked
from haccp.language import phrase
from haccp.logs.csv_log import ZERO, LogFile, parse_moment, read_log
from haccp.logs.judged_log import judge_log
from haccp.record.places import place_named
from haccp.record.store import Record, open_record
from haccp.record.tills import tills_of
from haccp.record.view import caught_up
from haccp.rules.evidence import Finding
from haccp.rules.words import explain
from haccp.temperature import Degree
from haccp.time import parse_days

READINGS = ("batch", "step", "taken_at", "temp", "unit")
"""The columns that `judged` needs: code, step as `haccp check-file` takes it, moment [ISO 8601 with
offset, or minutes from any zero], temperature [`unit`], "F" or "C". A file's others may be there.
"""

FINDINGS = (
    "batch", "step", "limit", "citation", "verdict", "shortest_min", "longest_min", "due", "why",
)  # fmt: skip
"""The columns of findings: `shortest_min` and `longest_min` bound how long it took [min], missing
where the record sets no bound; `due` is a moment [UTC, or minutes as in the readings].
"""

ON_RECORD = (
    "entry",
    "at",
    "batch",
    "place",
    "step",
    "temp",
    "unit",
    "temperature_f",
    "thermometer",
)
"""The columns of readings on record: the entry's number, of a logger's with the place in it, moment
[UTC], batch and unit (empty where none), step, temperature as typed with its degree, the same [°F],
thermometer, or the probe of a logger.
"""


def judged(
    readings: pd.DataFrame,
    *,
    limit_set: str = "food-code-2022",
    as_of: str | None = None,
) -> pd.DataFrame:
    """Judge readings as `haccp check-file` does, without any record: a row for each finding.

    `readings` has the columns `READINGS` in any order; `as_of` is written as its moments are, None
    means after everything. A temperature is taken as it is written: give text or Decimal where
    digits matter. Raises Refused where a line cannot be judged: nothing is left out.
    """
    log = _log(readings)
    moment = parse_moment(as_of)[0] if as_of is not None else None
    found = [
        (name, one)
        for name, findings in judge_log(log, limits.shipped(limit_set), moment)
        for one in findings
    ]
    return _findings(found, in_minutes=log.in_minutes)


def drawn(
    readings: pd.DataFrame,
    batch: str,
    *,
    limit_set: str = "food-code-2022",
    form: Literal["svg", "png", "pdf"] = "svg",
    zone: str = "UTC",
) -> bytes:
    """Draw the coolings of one batch, side by side, with what is forbidden; clock times in `zone`.

    Raises Refused where none of its readings are of a cooling.
    """
    from haccp.printing.curve import draw
    from haccp.printing.drawn_cooling import DrawnCurve

    mine = readings[readings["batch"].astype(str) == batch]
    by_batch = dict(judge_log(_log(mine), limits.shipped(limit_set), None))
    found = coolings(by_batch.get(batch, ()))
    if not found:
        raise Refused(phrase("{name} has no cooling in these readings.", name=batch))
    return draw(
        *(
            DrawnCurve(
                readings=one[0].readings,
                findings=one,
                degree=Degree(one[0].readings[0].temperature.degree),
                zone=ZoneInfo(zone),
            )
            for one in found
        ),
        form=form,
    )


class OnRecordFrames(NamedTuple):
    """What a record holds of some days: readings (`ON_RECORD`) and findings (`FINDINGS`)."""

    readings: pd.DataFrame
    findings: pd.DataFrame


def on_record(
    place: str | Path, first: str | date, last: str | date | None = None
) -> OnRecordFrames:
    """Read days of a record, `first` to `last` (2026-10-31, a date, "today"), and change nothing.

    `place` is its file, or the URL of a server as --db takes it.

    Findings are those of the report of these days; in `batch` stands a unit where one is meant.
    Raises Refused where the record does not hold together.
    """
    with closing(open_record(place_named(str(place)), create=False)) as record:
        now = datetime.now(UTC)
        stands = _as_it_stands(record, now)
        register = read_register(stands)
        days = (str(first), None if last is None else str(last))
        begins, ends = parse_days(*days, now, register.zone)
        view = walked(stands, begins, ends, register.zone)
        register = read_register(view)
        found = review(view, register, begins, ends, now)
        findings = [(one.subject.name, one.finding) for one in found.found]
        return OnRecordFrames(_readings(found, register), _findings(findings, in_minutes=False))


def _as_it_stands(record: Record, now: datetime) -> Record:
    """Give a record as it stands; of a view all that its tills hold. Raises Refused for less."""
    if not record.store.is_view:
        return record.as_it_stands()
    view = caught_up(record, now)
    if any(till.why for till in tills_of(view)):
        raise Refused(view.troubles[0])
    return view


def _log(readings: pd.DataFrame) -> LogFile:
    """Read a frame as the file that it would be: one reader, and one sentence for each mistake."""
    text = io.StringIO()
    readings.astype(object).where(readings.notna(), "").to_csv(text, index=False)
    log = read_log(text.getvalue().encode())
    if log.rejected:
        first = log.rejected[0]
        raise Refused(phrase("Line {line} is rejected: {why}.", line=first.line, why=first.why))
    return log


def _findings(found: Iterable[tuple[str, Finding]], *, in_minutes: bool) -> pd.DataFrame:
    def shown(moment: datetime) -> str:
        return f"{_minutes(moment - ZERO):g}" if in_minutes else f"{moment:%Y-%m-%d %H:%M %z}"

    rows = [
        (
            name,
            str(one.step),
            one.limit.name,
            one.limit.citation,
            str(one.verdict),
            _minutes(one.shortest),
            _minutes(one.longest),
            (_minutes(one.due - ZERO) if in_minutes else one.due) if one.due else None,
            explain(one, shown),
        )
        for name, one in found
    ]
    frame = pd.DataFrame(rows, columns=list(FINDINGS))
    bounds = {"shortest_min": "float64", "longest_min": "float64"}
    due = frame["due"].astype("float64") if in_minutes else pd.to_datetime(frame["due"], utc=True)
    return frame.astype(bounds).assign(due=due)


def _readings(found: Review, register: Register) -> pd.DataFrame:
    subjects: Sequence[OnRecord] = (*found.batches, *found.units)
    entries = {entry.ref: entry for one in subjects for entry in one.readings}
    rows: list[tuple[Any, ...]] = []
    for ref, entry in sorted(entries.items(), key=lambda one: (one[1].seq, one[1].place)):
        one = reading_of(entry, register)
        rows.append(
            (
                ref,
                one.at,
                entry.batch or "",
                entry.unit or "",
                str(one.step),
                str(one.temperature.value),
                str(one.temperature.degree),
                float(one.temperature.fahrenheit),
                one.thermometer or (entry.run.probe if entry.run else ""),
            )
        )
    frame = pd.DataFrame(rows, columns=list(ON_RECORD))
    return frame.assign(at=pd.to_datetime(frame["at"], utc=True))


def _minutes(duration: timedelta | None) -> float | None:
    return None if duration is None else duration / timedelta(minutes=1)

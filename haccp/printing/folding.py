"""A logger's minutes in few rows: of each hour the lowest, the highest and how many there are.

What decided anything stays by itself: the readings on both sides of where a limit is crossed, and
those at a moment that a finding names. The verdicts know every reading; this is how they are
printed.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from itertools import pairwise

from haccp.language import counted, phrase
from haccp.phrases import ranging
from haccp.record.bodies import Measured
from haccp.record.entries import Entry
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Finding

# A row says no less than so many readings do.
_FEW = 3


def telling(
    readings: Sequence[Entry[Measured]], findings: Iterable[Finding], marks: Mapping[str, str]
) -> set[str]:
    """Name the readings, in their order, that stay by themselves: on both sides of each change of
    their marks, and at what a finding names. What stands together has one mark.
    """
    kept = {moment for finding in findings for moment in _moments(finding)}
    told = {one.ref for one in readings if one.at in kept}
    for before, after in pairwise(readings):
        if marks.get(before.ref, "") != marks.get(after.ref, ""):
            told |= {before.ref, after.ref}
    return told


def _moments(finding: Finding) -> Iterator[datetime]:
    for bounds in (finding.start, finding.crossing):
        if bounds:
            yield from (one for one in (bounds.earliest, bounds.latest) if one)
    if finding.since:
        yield finding.since


def folded(
    readings: Iterable[Entry[Measured]], kept: Collection[str]
) -> Iterator[list[Entry[Measured]]]:
    """Give readings in their order, those of one hour of a logger's together but for the kept."""
    run: list[Entry[Measured]] = []
    for one in readings:
        if run and (not _is_alike(one, run[-1]) or one.ref in kept):
            yield from _rows(run)
            run = []
        if one.run is None or one.ref in kept:
            yield [one]
        else:
            run.append(one)
    yield from _rows(run)


def _is_alike(one: Entry[Measured], before: Entry[Measured]) -> bool:
    """Whether a reading is of the same hour, and left out by the same entry if at all."""
    return (one.seq, one.corrected_by) == (before.seq, before.corrected_by)


def _rows(run: list[Entry[Measured]]) -> Iterator[list[Entry[Measured]]]:
    if len(run) < _FEW:
        yield from ([one] for one in run)
    else:
        yield run


def span_of(run: Sequence[Entry[Measured]]) -> str:
    """Give the lowest and the highest of readings together, as they stood in their file."""
    by_value = sorted((one.body.temp for one in run), key=Decimal)
    degree = run[0].body.degree
    low, high = (
        (by_value[0], by_value[-1])
        if Decimal(by_value[0]) != Decimal(by_value[-1])
        else (by_value[0],) * 2
    )
    return f"{ranging(low, high)} °{degree}"


def note_of(run: Sequence[Entry[Measured]]) -> str:
    """Say how many readings stand together; `said_of` says of all of them where they are from."""
    return counted("{count} reading", "{count} readings", len(run))


def file_of(reading: Entry[Measured], when: ShowMoment) -> str:
    """Say out of which file a logger's reading is, and when that was loaded."""
    assert reading.run
    return phrase(
        "{name} (SHA-256 {digest}), loaded {when}",
        name=reading.run.source,
        digest=reading.run.source_digest[:12],
        when=when(reading.entered_at),
    )


def said_of(readings: Iterable[Entry[Measured]], when: ShowMoment) -> str:
    """Say that a logger's readings are printed by the hour, and out of which files they are."""
    files = {(one.run.source_digest, one.entered_at): one for one in readings if one.run}
    if not files:
        return ""
    return phrase(
        "A logger's readings are printed by the hour, with the lowest, the highest and how many "
        "there are; where a limit is crossed, the readings before and after that stand by "
        "themselves. Each one is judged. They are out of {files}.",
        files="; ".join(file_of(one, when) for one in files.values()),
    )

"""What a signature under a day covers, in ten lines at most."""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta

from haccp.kitchen.branch_words import undecided_branches
from haccp.kitchen.on_record import entered_later
from haccp.kitchen.register import Register
from haccp.kitchen.review import Looked, Review
from haccp.kitchen.taken_back import taken_back
from haccp.language import counted, message, phrase
from haccp.record.bodies import CorrectiveAction
from haccp.record.entries import having
from haccp.record.store import Record
from haccp.rules.evidence import Reason
from haccp.time import day_starts

_MOST_NAMES = 6


def covered(
    record: Record, reviewed: Review, register: Register, day: date, as_of: datetime
) -> Iterator[str]:
    """Say what stands under a signature: decided, undecided, late, taken back, not looked at."""
    begins = day_starts(day, register.zone)
    ends = day_starts(day + timedelta(days=1), register.zone)
    entries = record.during(begins, ends)
    missed = [one for one in reviewed.deviations if one.finding.reason is Reason.MISSED_CHECK]
    decided = [one for one in reviewed.deviations if one not in reviewed.undecided]
    late = {one.seq: one for one in entries if entered_later(one) and (one.batch or one.unit)}
    subjects = (*reviewed.batches, *reviewed.units)
    back = [one for one in taken_back(subjects, register, ends) if begins <= one.reading.at < ends]
    yield phrase(
        "Deviations: {count}; undecided: {undecided}.",
        count=len(reviewed.deviations),
        undecided=len(reviewed.undecided),
    )
    told = {
        message("Undecided: {names}."): _names(reviewed.undecided),
        message("Decided: {names}."): _names(decided),
        message("Causes written: {names}."): _counted(_causes(decided)),
        message("Still open: {names}."): _names(reviewed.open),
        message("Looks missed: {names}."): _names(missed),
        message("Entered late: {names}."): _counted(
            one.unit or one.batch or "" for one in late.values()
        ),
        message("Corrections that took something back: {names}."): _counted(
            one.subject.name for one in back
        ),
        message("Entries that cannot be read: {names}."): _counted(reviewed.unreadable),
        message("Branches beside the record, undecided: {names}."): _counted(
            one.name for one in undecided_branches(register)
        ),
    }
    yield from (phrase(words, names=names) for words, names in told.items() if names)
    if any(one.finding.gap and one.finding.gap[1] >= as_of for one in missed):
        yield phrase("A gap that is still running is not settled.")


def _causes(decided: Iterable[Looked]) -> Iterator[str]:
    """Give what was written of the cause of deviations, once for each entry."""
    answers = {entry.seq: entry for one in decided for entry in one.answers}
    done = having(answers.values(), CorrectiveAction)
    return (entry.body.cause for entry in done if entry.body.cause)


def _names(found: Iterable[Looked]) -> str:
    return _counted(one.subject.name for one in found)


def _counted(names: Iterable[str]) -> str:
    counts = Counter(names)
    shown = [f"{name} ({n})" if n > 1 else name for name, n in counts.most_common(_MOST_NAMES)]
    more = len(counts) - len(shown)
    if more:
        shown.append(counted("{count} more", "{count} more", more))
    return ", ".join(shown)

"""What stands undecided of a food or unit: how it is told in one line, and what decides it."""

from collections.abc import Sequence

from haccp.cli.session import Session
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.language import phrase
from haccp.rules import kitchen_words
from haccp.rules.asked import ShowMoment
from haccp.rules.dispositions import may_release
from haccp.rules.evidence import Finding, Reading, Reason, Verdict


def standing_in(unit: str, session: Session) -> list[BatchOnRecord]:
    """Give the batches of which something is left that stand in a unit now."""
    from haccp.kitchen.naming import open_codes
    from haccp.kitchen.reading import read_batches

    register, now = session.register, session.now
    batches = read_batches(session.record, open_codes(session.record))
    return [one for one in batches if unit in one.places(register, now)]


def how_to_decide(subject: OnRecord, found: Sequence[Finding], register: Register) -> str:
    """Say which command decides what stands undecided: of food, by what becomes of it."""
    name = subject.name
    if all(one.limit.name == "oven" for one in found):
        return phrase("A manager decides as the day is signed, or by the authority's letter.")
    disproved = [one for one in found if one.verdict is Verdict.NOT_MET]
    is_back = disproved and wanting_action(subject, disproved, register) == disproved
    if isinstance(subject, UnitOnRecord) or is_back:
        return phrase('Log what is done: haccp corrective {name} "..."', name=name)
    if disproved:
        return phrase('It is decided by what becomes of it: haccp discard {name} "..."', name=name)
    return phrase(
        'It is decided by what becomes of it: haccp discard {name} "...", '
        'or a manager: haccp release-food {name} "..."',
        name=name,
    )


def wanting_action(
    subject: OnRecord | None, found: Sequence[Finding], register: Register
) -> list[Finding]:
    """Pick what food was brought back from in time, and that an action alone decides."""
    if not isinstance(subject, BatchOnRecord):
        return []
    return [one for one in found if subject.wants_action(one, register)]


def acts_on(
    subject: OnRecord | None, found: Sequence[Finding], register: Register
) -> tuple[str, ...]:
    """Name the commands that decide what stands undecided: none where only a signature does.

    Of food it is what becomes of it; what is gone is decided by nobody any more, but for a manager
    who has a reason to release what was not shown.
    """
    if subject is None or all(one.limit.name == "oven" for one in found):
        return ()
    if isinstance(subject, UnitOnRecord):
        return ("corrective",)
    release = ("release-food",) if all(map(may_release, found)) else ()
    if not subject.is_left:
        return release
    sent_back = isinstance(subject, BatchOnRecord) and subject.batch.received_as
    back = ("corrective",) if wanting_action(subject, found, register) else ()
    return (*back, "discard", *(("reject",) if sent_back else ()), *release, "divert")


def in_one_line(found: Finding, clock: ShowMoment) -> str:
    """Begin the line of an older deviation: what it was, of which food and when."""
    word = kitchen_words.word(found)
    reading = _seen(found)
    if found.of:
        return phrase("UNDECIDED, of {part} in it: {word}.", part=found.of, word=word)
    if reading is None:
        return phrase("UNDECIDED: {word}.", word=word)
    return phrase(
        "UNDECIDED: {word} {temp} ({clock}).",
        word=word,
        temp=reading.temperature,
        clock=clock(reading.at),
    )


def _seen(found: Finding) -> Reading | None:
    """Pick the reading that shows a deviation: of a run its first, else the last.

    What is not shown no reading shows, and what an oven showed is told beside.
    """
    if found.verdict is not Verdict.NOT_MET or found.limit.name == "oven" or not found.readings:
        return None
    return found.readings[0 if found.reason is Reason.OUT_OF_LIMITS else -1]

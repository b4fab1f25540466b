"""A report's first page: what is unsafe and still here, what went wrong, and how it was watched."""

from collections import Counter
from collections.abc import Callable, Container, Iterator, Sequence
from datetime import timedelta
from typing import Any

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.branch_words import branch_in_words, undecided_branches
from haccp.kitchen.cases import Case, Caught
from haccp.kitchen.datemarks import date_mark, is_frozen
from haccp.kitchen.on_record import OnRecord, entered_later
from haccp.kitchen.review import Looked
from haccp.kitchen.stays import stays
from haccp.language import counted, message, phrase
from haccp.printing.in_brief import in_brief
from haccp.printing.report_context import EVENTS, Sheet, by_whom
from haccp.record.bodies import (
    CorrectiveAction,
    DaySigned,
    DeliveryRejected,
    Discarded,
    Diverted,
    Measured,
    Released,
    SetApart,
    UsedUp,
)
from haccp.record.branches import Branch
from haccp.record.entries import Entry, holds
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.signs import shortened
from haccp.time import runs_of_days, short_day, spell

# How an act is told: whole, or briefly.
_Teller = Callable[[Entry, Sheet], str]

# So many sentences tell what happened, and what was done; the rest stands with the deviation.
_MOST = 3
# Of what somebody wrote so much is told here [signs].
_BRIEF = 72


# ---- the framed sentence ----


def sentence(
    found: Sequence[Case],
    caught: Sequence[Caught],
    *,
    empty: bool,
    sheet: Sheet,
    checks: Sequence[str] = (),
) -> list[str]:
    """Say the worst first: what is undecided and still there, what was decided and how.

    `empty` says that nothing was entered about food in the period; `checks` tell of thermometers.
    """
    undecided = {one.name: one for case in found for one in case.undecided}
    branches = list(map(_branch, undecided_branches(sheet.register)))
    here = [*branches, *_undecided(list(undecided.values()), sheet)]
    told = [*here, *checks, *_decided(found, undecided)]
    if caught:
        told.append(
            counted(
                "{count} slow cooling was caught in time.",
                "{count} slow coolings were caught in time.",
                len(caught),
            )
        )
    if empty:
        told.append(phrase("Nothing was recorded in this period."))
    elif not found and not branches and sheet.only.is_about_food:
        told.insert(len(checks), _all_kept(sheet))
    running = len(sheet.review.open)
    if running:
        told.append(
            counted(
                "{count} limit's time was still running when this was printed.",
                "{count} limits' times were still running when this was printed.",
                running,
            )
        )
    return [*told, *_unsigned(sheet)]


def _branch(one: Branch) -> str:
    return f"{branch_in_words(one)} {phrase('Nobody decided about it.')}"


def _all_kept(sheet: Sheet) -> str:
    """Say that every limit was kept: of part of a record no more than was checked in it."""
    if sheet.only.is_whole:
        return phrase("Every limit that was checked was kept, and shown to be kept.")
    if not any(one.finding.verdict is Verdict.MET for one in sheet.review.found):
        return phrase("No limit was checked to its end of what was asked for.")
    if sheet.only.thermometers:
        return phrase("Of the rest asked for every limit checked was kept, and shown to be kept.")
    return phrase("Of what was asked for every limit checked was kept, and shown to be kept.")


def _undecided(undecided: Sequence[OnRecord], sheet: Sheet) -> Iterator[str]:
    """Name the foods and units that nobody decided about, each once: what is still here first."""
    foods = [one for one in undecided if isinstance(one, BatchOnRecord)]
    here = [one for one in foods if one.is_left]
    gone = [one for one in foods if not one.is_left]
    units = [one for one in undecided if one not in foods]
    if here:
        yield counted(
            "{count} food is undecided and still here: {foods}.",
            "{count} foods are undecided and still here: {foods}.",
            len(here),
            foods="; ".join(_there(one, sheet) for one in here),
        )
    if gone:
        yield counted(
            "{count} food that deviated is gone without a decision on record: {names}.",
            "{count} foods that deviated are gone without a decision on record: {names}.",
            len(gone),
            names=", ".join(one.name for one in gone),
        )
    if units:
        yield counted(
            "{count} unit deviated and no action is on record: {names}.",
            "{count} units deviated and no action is on record: {names}.",
            len(units),
            names=", ".join(one.name for one in units),
        )


def _there(subject: BatchOnRecord, sheet: Sheet) -> str:
    """Name a food that is still here: code, amount, place."""
    units = ", ".join(subject.places(sheet.register, sheet.printed))
    place = phrase("in {unit}", unit=units) if units else ""
    return ", ".join(filter(None, [subject.name, subject.batch.amount, place]))


def _decided(found: Sequence[Case], undecided: Container[str]) -> Iterator[str]:
    """Count what was decided about foods, and what was put right in units, each in a sentence."""
    looked: dict[str, list[Looked]] = {}
    for one in (one for case in found for one in case.looked):
        if one.subject.name not in undecided:
            looked.setdefault(one.subject.name, []).append(one)
    ways = Counter(map(_way, looked.values()))
    yield from (say(ways[way]) for way, say in _WAYS.items() if ways[way])


_DIVIDED = "divided"
_WAYS: dict[str, Callable[[int], str]] = {
    Discarded.kind: lambda n: counted(
        "{count} food was discarded.", "{count} foods were discarded.", n
    ),
    DeliveryRejected.kind: lambda n: counted(
        "{count} delivery was sent back.", "{count} deliveries were sent back.", n
    ),
    Diverted.kind: lambda n: counted(
        "{count} food was put to another use.", "{count} foods were put to another use.", n
    ),
    Measured.kind: lambda n: counted(
        "{count} food was brought back in time.", "{count} foods were brought back in time.", n
    ),
    Released.kind: lambda n: counted(
        "{count} food was released by a manager, with the reason.",
        "{count} foods were released by a manager, with the reason.",
        n,
    ),
    CorrectiveAction.kind: lambda n: counted(
        "{count} unit or food was put right, as an action says.",
        "{count} units or foods were put right, as actions say.",
        n,
    ),
    _DIVIDED: lambda n: counted(
        "{count} food was divided or put into others, which are decided for it.",
        "{count} foods were divided or put into others, which are decided for them.",
        n,
    ),
}


def _way(looked: Sequence[Looked]) -> str:
    """Say by which kind of entry a food or unit was decided, the last that did."""
    decided = [entry for one in looked for entry in one.decided_by]
    kinds = [entry.body.kind for entry in decided]
    # what became of the food outweighs a note beside it
    return next((kind for kind in _WAYS if kind in kinds), _DIVIDED)


def _unsigned(sheet: Sheet) -> Iterator[str]:
    days = [day for day in sheet.days if sheet.register.signed(day) is None]
    if days:
        yield counted(
            "{count} day is not signed: {days}.",
            "{count} days are not signed: {days}.",
            len(days),
            days=runs_of_days(days),
        )


# ---- the rows ----


def row(case: Case, anchor: str, sheet: Sheet) -> dict[str, Any]:
    """Give a case as it stands on the first page."""
    findings = [one.finding for one in case.first]
    return {
        "verdict": case.verdict,
        **_named(case),
        "what": what_happened(findings, sheet),
        "done": [briefly(entry, sheet) for entry in case.answers],
        "more": about_cause(case, sheet, briefly),
        "undecided": undecided_words(case),
        "place": where_now(case, sheet),
        "anchor": anchor,
    }


def caught_row(one: Caught, anchor: str, sheet: Sheet) -> dict[str, Any]:
    """Give a cooling that was caught in time, in the same columns."""
    case = one.batch
    return {
        "verdict": Verdict.STOPPED,
        "food": case.batch.food,
        "codes": ", ".join(filter(None, [case.name, case.batch.amount])),
        "what": [_too_slow(one, sheet)],
        "done": acts(one, sheet, briefly),
        "more": [],
        "undecided": "",
        "place": [where(case, sheet)],
        "anchor": anchor,
    }


def _too_slow(one: Caught, sheet: Sheet) -> dict[str, str]:
    last = _last_read(one)
    stage = next(each for each in one.cooling if each.verdict is Verdict.STOPPED)
    start = stage.start.latest if stage.start else None
    known = message("{temp} at {time}, {after} after the start; {level} was due by {due}.")
    unknown = message("{temp} at {time}; when {level} was due is not on record.")
    words = known if start and stage.due else unknown
    told = phrase(
        words,
        temp=last.temperature,
        time=sheet.on(last.at),
        after=spell(last.at - start) if start else "",
        level=f"{stage.limit.level.number(last.temperature.degree)} °{last.temperature.degree}",
        due=sheet.on(stage.due) if stage.due else "",
    )
    return {"words": told, "citation": stage.limit.citation}


def _last_read(one: Caught) -> Reading:
    """Give the last reading of the cooling itself: the next one may be the reheat's first."""
    readings = one.cooling[0].readings
    return next(each for each in reversed(readings) if each.step is Step.COOL)


def acts(one: Caught, sheet: Sheet, tell: _Teller) -> list[str]:
    """Tell what was done about a slow cooling, up to the reheat or the discard."""
    since = _last_read(one).at
    found = [
        entry
        for entry in one.batch.in_force
        if isinstance(entry.body, CorrectiveAction | Discarded) and since <= entry.at <= one.until
    ]
    hot = [
        entry
        for entry in one.batch.readings
        if entry.at == one.until and entry.body.step == Step.REHEAT
    ]
    told = [tell(entry, sheet) for entry in found]
    return told + [
        phrase(
            "Reheated to {temp} at {time} ({who}).",
            temp=f"{entry.body.temp} °{entry.body.degree}",
            time=sheet.on(entry.at),
            who=entry.person,
        )
        for entry in hot
    ]


def _named(case: Case) -> dict[str, str]:
    """Name what a case is about: a unit with the foods in it, or a food with its code."""
    if case.units:
        foods = [f"{one.batch.food} ({one.name})" for one in case.batches]
        return {"food": ", ".join(one.name for one in case.units), "codes": _few(foods)}
    first = case.batches[0]
    amounts = Counter(one.batch.amount for one in case.batches if one.batch.amount)
    told = [f"{n} × {amount}" if n > 1 else amount for amount, n in amounts.items()]
    return {
        "food": first.batch.food,
        "codes": ", ".join([_few([one.name for one in case.batches]), *told]),
    }


def _few(names: Sequence[str], most: int = 6) -> str:
    """Name some, and count the rest."""
    if len(names) <= most:
        return ", ".join(names)
    return counted(
        "{names} and {count} more",
        "{names} and {count} more",
        len(names) - most + 1,
        names=", ".join(names[: most - 1]),
    )


def what_happened(findings: Sequence[Finding], sheet: Sheet) -> list[dict[str, str]]:
    """Tell each thing once, with its bounds, its limit and its citation."""
    told = {in_brief(one, sheet): one.limit.citation for one in findings}
    rows = [{"words": words, "citation": citation} for words, citation in told.items()]
    rest = len(rows) - _MOST
    if rest > 0:
        more = counted("{count} more like it.", "{count} more like these.", rest + 1)
        rows = [*rows[: _MOST - 1], {"words": more, "citation": ""}]
    return rows


# ---- what was done ----


def done(entry: Entry, sheet: Sheet) -> str:
    """Tell an act about a deviation: what, by whom, when, and whether it was entered late."""
    told = _told(entry, _text(entry), by_whom(entry, sheet.register), sheet)
    late = entered_later(entry)
    return phrase("{told} ({late})", told=told, late=late) if late else told


def briefly(entry: Entry, sheet: Sheet) -> str:
    """Tell an act in a line or two; whole, it stands with the deviation."""
    return _told(entry, shortened(_text(entry), _BRIEF), entry.person, sheet)


def _told(entry: Entry, text: str, who: str, sheet: Sheet) -> str:
    words = _DONE.get(type(entry.body), message("{text} ({who}, {time})."))
    return phrase(words, text=text, who=who, time=sheet.on(entry.at))


_DONE: dict[type, str] = {
    Discarded: message("Discarded: {text} ({who}, {time})."),
    DeliveryRejected: message("Sent back: {text} ({who}, {time})."),
    Diverted: message("Put to another use: {text} ({who}, {time})."),
    Released: message("Released: {text} ({who}, {time})."),
    SetApart: message("Set apart: {text} ({who}, {time})."),
    Measured: message("Brought back: {text} ({who}, {time})."),
    DaySigned: message("On signing its day: {text} ({who}, {time})."),
}


def _text(entry: Entry) -> str:
    if holds(entry, Measured):
        body = entry.body
        return f"{body.temp} °{body.degree} {Step(body.step).words}"
    if holds(entry, DaySigned):
        return entry.body.note.rstrip(".")
    return str(EVENTS[type(entry.body)](entry.body)).rstrip(".")


def undecided_words(case: Case) -> str:
    """Say in the row what nobody decided about; empty where nothing is left to decide."""
    names = [one.name for one in case.undecided]
    if not names:
        return ""
    if len(names) == len(case.subjects):
        return phrase("Undecided: no action on record")
    return phrase("Undecided: {names}", names=_few(names))


def about_cause(case: Case, sheet: Sheet, tell: _Teller) -> list[str]:
    """Say what is on record of the cause; of what is undecided, who saw it on signing its day."""
    if not case.undecided:
        has_action = any(isinstance(entry.body, CorrectiveAction) for entry in case.answers)
        return [] if has_action else [phrase("Cause: no action.")]
    apart = [one for batch in case.batches if (one := batch.set_apart)]
    signed = sheet.register.signed(case.since.astimezone(sheet.register.zone).date())
    noted: list[Entry] = [*apart, *([signed] if signed and signed.body.note else [])]
    return [tell(entry, sheet) for entry in noted if entry not in case.answers]


# ---- where the food is now ----


def where_now(case: Case, sheet: Sheet) -> list[str]:
    """Say of each food what became of it, those alike at once; of a unit, of what stood in it."""
    batches: Sequence[BatchOnRecord] = case.batches
    if not batches:
        batches = _in_it(case, sheet)
    places = Counter(where(one, sheet) for one in batches)
    many = len(batches) > 1
    told = [f"{n} × {place}" if many and n > 1 else place for place, n in places.items()]
    return told[:_MOST] or [phrase("no food on record in it")]


def _in_it(case: Case, sheet: Sheet) -> list[BatchOnRecord]:
    """Give the foods that stood in a unit while it deviated."""
    since = case.since
    until = max(one.finding.since or since for one in case.looked) + timedelta(minutes=1)
    stood = stays(sheet.record, sheet.register, since, until, sheet.printed)
    found = {batch.name: batch for unit in case.units for batch, _ in stood.get(unit.name, ())}
    return list(found.values())


def where(batch: BatchOnRecord, sheet: Sheet) -> str:
    end = batch.end
    if end is not None:
        if isinstance(end.body, UsedUp) and end.body.into:
            return phrase("now {names}", names=_few(end.body.into, 3))
        return phrase(_FATES[type(end.body)], time=sheet.on(end.at))
    register, now = sheet.register, sheet.printed
    units = ", ".join(batch.places(register, now))
    place = phrase("in {unit}", unit=units) if units else phrase("here, place not on record")
    apart = [phrase("set apart")] if batch.set_apart else []
    mark = date_mark(sheet.record, register, batch.name, now)
    stands_still = is_frozen(batch, register, now) and not batch.batch.use_by
    use_by = mark and not stands_still and batch.timed_since is None
    dated = [phrase("use by {day}", day=short_day(mark))] if use_by and mark else []
    return "; ".join(filter(None, [batch.batch.amount, place, *apart, *dated]))


_FATES: dict[type, str] = {
    Discarded: message("thrown away {time}"),
    DeliveryRejected: message("sent back {time}"),
    Diverted: message("put to another use {time}"),
    UsedUp: message("used up {time}"),
}

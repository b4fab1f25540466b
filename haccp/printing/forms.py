"""Gathers the blank log sheets to write on when the power is out: the same fields as an entry's.

The shape of the result is what reports/forms.typ prints.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from textwrap import shorten
from typing import Any

from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.logs.csv_log import OPTIONAL, REQUIRED
from haccp.phrases import ranging
from haccp.printing import forms_missed
from haccp.printing.forms_context import (
    FormsContext,
    chunks,
    cited,
    initials,
    mm,
    share,
    sheet,
    thermometer,
    time,
)
from haccp.printing.forms_holding import holding
from haccp.printing.limits_in_words import caution, moment_of_printing, set_in_words
from haccp.rules.asked import target
from haccp.rules.evidence import Step
from haccp.rules.thermometer import ICE_POINT, boiling_point, pressure_at
from haccp.temperature import Degree
from haccp.time import dated, spell

_HOUR = timedelta(hours=1)
# A cooling that may last longer has rows for its limits alone: a page has no room for each hour.
_HOURLY = 12 * _HOUR
# So many checks of thermometers stand on one sheet.
_CHECKS = 14
# So many letters of a sheet's name fit a line of the list.
_CALLED = 48
# So many sheets are listed on one that says who has which.
_LISTED = 18


def gather(register: Register, printed: datetime) -> dict[str, Any]:
    """Gather a sheet for each kind of entry, with the limits in force when printed."""
    forms = FormsContext(register, register.limits_at(printed), printed)
    kitchen = forms.kitchen
    sheets = list(_sheets(forms))
    return {
        "title": phrase("Blank log sheets"),
        "kitchen": kitchen.name,
        "permit": kitchen.permit,
        "printed": moment_of_printing(printed, register.zone),
        "limit_set": _guarded(forms.limits),
        "load": phrase(
            "{command}, columns {columns}",
            command="haccp load-readings FILE.csv --paper",
            columns=", ".join((*REQUIRED, *OPTIONAL)),
        ),
        "caution": caution(),
        "sheets": [*_given_out(forms, [_called(one) for one in sheets]), *sheets],
    }


def _guarded(limits: LimitSet) -> str:
    name = set_in_words(limits)
    if not limits.guard:
        return name
    return phrase("{name}, moved inward by {guard}", name=name, guard=limits.guard)


def _called(one: dict[str, Any]) -> str:
    """Name a sheet in a list: what a line has room for."""
    called = f"{one['title']}: {one['units']}" if one["units"] else str(one["title"])
    return shorten(called, _CALLED, placeholder=" …")


def _given_out(forms: FormsContext, titles: Sequence[str]) -> Iterator[dict[str, Any]]:
    """List every sheet by its number, with room for which copies of it are out: a gap shows."""
    lists = -(-len(titles) // _LISTED)
    numbered = [f"{number}  {title}" for number, title in enumerate(titles, lists + 1)]
    for some in chunks(numbered, _LISTED):
        yield sheet(
            phrase("Sheets given out"),
            phrase(
                "Number each copy at its top as it is given out. A number that does not come back "
                "is looked for; what is not found stays a gap: nothing is filled in from memory."
            ),
            "",
            [
                share(phrase("Sheet"), 1.3),
                mm(phrase("Copies: from no."), 18),
                mm(phrase("to no."), 18),
                share(phrase("Given to"), 1),
                mm(phrase("Back: how many"), 20),
                mm(phrase("Typed in: date"), 24),
                initials(),
            ],
            first=some,
            facts=list(_facts(forms)),
            row_mm=8,
        )


def _facts(forms: FormsContext) -> Iterator[list[str]]:
    """Say what the kitchen has said of itself, as far as the sheets rest on it."""
    kitchen = forms.kitchen
    today = forms.printed.astimezone(forms.register.zone).date().isoformat()
    closed = [
        phrase(
            "{day}, {reason}",
            day=_days(entry.body.first, entry.body.last),
            reason=entry.body.reason,
        )
        for entry in forms.register.closed
        if entry.body.last >= today
    ]
    for name, value in (
        (phrase("Address"), kitchen.address),
        (phrase("Person in charge"), kitchen.in_charge),
        (phrase("Opening hours"), kitchen.open_hours),
        (phrase("Declared closed"), "; ".join(closed)),
        (phrase("Thermometers"), ", ".join(forms.thermometers)),
    ):
        if value:
            yield [name, value]


def _days(first: str, last: str) -> str:
    return ranging(*(dated(date.fromisoformat(day)) for day in (first, last)))


def _sheets(forms: FormsContext) -> Iterator[dict[str, Any]]:
    """Give the sheets of one kitchen, in the order of its day."""
    yield _batches(forms)
    yield _receiving(forms)
    yield _preparation(forms)
    yield _cooking(forms)
    yield _cooling(forms)
    yield _reheating(forms)
    yield from holding(forms)
    if forms.of(Step.TIME_CONTROL):
        yield _time_control(forms)
    yield from _thermometers(forms)
    yield _corrective_actions(forms)
    yield _discards(forms)


def _batches(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Batches"),
        phrase("A line for each batch that is opened, divided or put together."),
        f'haccp batch FOOD "{forms.day} 06:20" --code CODE --kind KIND --from BATCH --by JM',
        [
            time(),
            share(phrase("Food"), 2),
            share(phrase("Code"), 1.4),
            share(phrase("Kind"), 1.2),
            share(phrase("How much"), 1),
            share(phrase("Made from (batches)"), 1.5),
            mm(phrase("Day 1, last day"), 20),
            initials(),
        ],
        limits=forms.grouped([one for one in forms.of(Step.COLD_HOLD) if one.name == "date-mark"]),
        missed=list(forms_missed.past_its_day()),
    )


def _receiving(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Receiving"),
        phrase(
            "Measure each delivery before it is put away, eggs by the air around them; "
            "write whether it comes cold, hot, frozen or as eggs."
        ),
        f'haccp receive FOOD TEMP "{forms.day} 06:20" --as cold --code CODE --paper --by JM',
        [
            time(),
            share(phrase("Food, code, amount"), 2),
            share(phrase("From whom, use by"), 1.2),
            mm(phrase("Comes as"), 17),
            forms.temp(),
            share(phrase("Taken, or why not"), 1.3),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped(forms.of(Step.RECEIVE)),
        missed=list(forms_missed.at_the_door(forms)),
    )


def _preparation(forms: FormsContext) -> dict[str, Any]:
    cold, hot = (forms.limits.get(f"{how}-holding").level for how in ("cold", "hot"))
    how = phrase(
        "What stands out of cold or hot holding before it is cooked or served. Measure when it "
        "comes out and when it goes back or on the heat: its time between {low} and {high} "
        "adds up.",
        low=cold.number(forms.degree),
        high=f"{hot.number(forms.degree)} °{forms.degree}",
    )
    return sheet(
        phrase("Preparation and resting"),
        how,
        f'haccp prepare BATCH TEMP "{forms.day} 08:10" --paper --by JM',
        [
            share(phrase("Food"), 1),
            share(phrase("Batch"), 1),
            mm(phrase("Out: time"), 16),
            forms.temp(phrase("Out:")),
            mm(phrase("Back or on: time"), 18),
            forms.temp(phrase("Then:")),
            share(phrase("Note"), 1),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped(
            [one for one in forms.of(Step.COLD_HOLD) if one.name.startswith("time-out-")]
        ),
        missed=list(forms_missed.out(forms)),
    )


def _cooking(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Cooking"),
        phrase(
            "Measure the coldest spot of the thickest piece. For a roast, a line for each "
            "reading and what the oven shows."
        ),
        f'haccp cook BATCH TEMP "{forms.day} 11:40" --held SECONDS --oven OVEN --paper --by JM',
        [
            share(phrase("Food and kind"), 1.6),
            share(phrase("Batch"), 1.2),
            time(),
            forms.temp(),
            mm(phrase("Held (s)"), 15),
            forms.temp(phrase("Oven")),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped(forms.of(Step.COOK)),
        missed=list(forms_missed.on_the_heat(forms)),
    )


def _cooling(forms: FormsContext) -> dict[str, Any]:
    rows = _cooling_rows(forms.of(Step.COOL), forms.degree)
    return sheet(
        phrase("Cooling"),
        phrase(
            "One batch a page. Measure the warmest spot, in the middle of the deepest container. "
            "At the start write every time of the second column at once: the same minutes, so many "
            "hours later. Measure by then; the time that you measure goes beside it."
        ),
        f'haccp cool BATCH TEMP "{forms.day} 14:05" --paper --by JM',
        [
            mm(phrase("Hours after the start"), 58),
            mm(phrase("At the latest at"), 20),
            time(),
            forms.temp(),
            thermometer(),
            initials(),
            share(phrase("Note"), 1),
        ],
        limits=forms.grouped(forms.of(Step.COOL)),
        missed=list(forms_missed.cooling(forms)),
        boxes=(
            phrase("Food and amount"),
            phrase("Batch"),
            phrase("Container and depth"),
            phrase("Cooled how: ice bath, shallow pans, ..."),
            phrase("□ cooked   □ cooled again after a reheat"),
            phrase("□ from room temperature: START is when its making began"),
        ),
        first=rows,
        marked=[row for row, words in enumerate(rows) if ": " in words],
        answers=True,
        row_mm=8,
    )


def _reheating(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Reheating"),
        phrase(
            "Measure when it goes on the heat and again when it is hot: the time between counts."
        ),
        f'haccp reheat BATCH TEMP "{forms.day} 10:05" --held SECONDS --paper --by JM',
        [
            share(phrase("Food"), 1),
            share(phrase("Batch"), 1),
            mm(phrase("Start: time"), 16),
            forms.temp(phrase("Start:")),
            mm(phrase("Hot: time"), 16),
            forms.temp(phrase("Hot:")),
            mm(phrase("Held (s)"), 15),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped(forms.of(Step.REHEAT)),
        missed=list(forms_missed.reheating(forms)),
    )


def _time_control(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Time as a control"),
        phrase("Write on the food when nothing of it may be left. It may not go back to holding."),
        phrase(
            "{command}, at last {other}",
            command=f'haccp time-control BATCH TEMP "{forms.day} 11:30" --paper --by JM',
            other="haccp used-up BATCH",
        ),
        [
            share(phrase("Food and batch"), 1),
            mm(phrase("Left: time"), 16),
            forms.temp(phrase("Left:")),
            mm(phrase("Nothing left by"), 18),
            mm(phrase("Last look: time"), 17),
            forms.temp(phrase("Last look:")),
            mm(phrase("Gone: time"), 16),
            thermometer(),
            initials(),
        ],
        limits=forms.grouped(forms.of(Step.TIME_CONTROL)),
        missed=list(forms_missed.time_control(forms)),
    )


def _thermometers(forms: FormsContext) -> Iterator[dict[str, Any]]:
    accuracy = forms.limits.get("thermometer-accuracy")
    boiling = boiling_point(pressure_at(forms.kitchen.altitude_m)).number(forms.degree)
    ice = ICE_POINT.number(forms.degree)
    accurate = f"{accuracy.level.number(forms.degree)} °{forms.degree}"
    how = phrase(
        "In melting ice it should show {ice}; in boiling water here, at {altitude}, about "
        "{boiling}.",
        ice=f"{ice} °{forms.degree}",
        altitude=f"{forms.kitchen.altitude_m} m",
        boiling=f"{boiling} °{forms.degree}",
    )
    for labels in chunks(forms.thermometers, _CHECKS) or [()]:
        yield sheet(
            phrase("Thermometer checks"),
            how,
            phrase(
                "{command}, or {other}",
                command=f'haccp ice THERMOMETER TEMP "{forms.day} 07:00" --by JM',
                other="haccp boil",
            ),
            [
                thermometer(),
                mm(phrase("Date"), 18),
                time(),
                mm(phrase("Ice or boiling"), 18),
                forms.temp(phrase("Should show")),
                forms.temp(phrase("Shows")),
                mm(phrase("Passed?"), 18),
                share(phrase("If not: what was done"), 1),
                initials(),
            ],
            limits=[
                [
                    phrase("Accuracy"),
                    phrase("within {difference}", difference=accurate),
                    cited(accuracy),
                ]
            ],
            missed=list(forms_missed.thermometer(forms)),
            # each of a few as often as there is room: a week of daily checks on one sheet
            first=[*labels] * (_CHECKS // max(len(labels), 1)),
        )


def _corrective_actions(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Corrective actions"),
        phrase("Whatever broke a limit, or may have: set the food apart and tell a manager."),
        f'haccp corrective BATCH_OR_UNIT "what was done" "{forms.day} 14:20" --by JM',
        [
            time(),
            share(phrase("Batch or unit"), 1),
            share(phrase("What was wrong"), 1.6),
            share(phrase("What was done: food, and cause"), 2),
            initials(),
            mm(phrase("Manager"), 18),
        ],
        row_mm=16,
    )


def _discards(forms: FormsContext) -> dict[str, Any]:
    return sheet(
        phrase("Discarded food"),
        phrase("Whatever was thrown away, and why."),
        f'haccp discard BATCH "why" "{forms.day} 20:20" --by JM',
        [
            time(),
            share(phrase("Food"), 1.3),
            share(phrase("Batch"), 1.2),
            share(phrase("How much"), 0.9),
            share(phrase("Why"), 2),
            initials(),
        ],
        row_mm=12,
    )


def _cooling_rows(cooling: Sequence[Limit], degree: Degree) -> list[str]:
    """Name a row for the start, one for each hour, and one for each moment of a limit.

    The start is the last reading at or above its level, as both stages are counted from it.
    """
    due: dict[timedelta, list[str]] = {}
    for limit, moment in forms_missed.latest_moments(cooling):
        due.setdefault(moment, []).append(_cooled_to(limit, degree))
    last = max(due)
    hours = {hour * _HOUR for hour in range(1, last // _HOUR + 1)} if last <= _HOURLY else set()
    start = next(limit.start for limit in cooling if limit.start)
    return [
        phrase(
            "START: the moment at {level}, or the last reading at or above it",
            level=f"{start.number(degree)} °{degree}",
        ),
        *(": ".join([spell(moment), *due.get(moment, [])]) for moment in sorted({*due, *hours})),
    ]


def _cooled_to(limit: Limit, degree: Degree) -> str:
    assert limit.within  # a cooling limit is a time: see the loader
    asked = target(limit, degree)
    if limit.clock is CountsFrom.PREVIOUS_STAGE:
        after = message("{asked}, {time} after the stage before")
        return phrase(after, asked=asked, time=spell(limit.within))
    if limit.clock is CountsFrom.PREPARATION:
        return phrase("{asked} if from room temperature", asked=asked)
    return asked

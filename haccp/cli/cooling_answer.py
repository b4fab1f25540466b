"""What the models answer to `haccp plan-cooling`, and how it is told. Its imports are heavy."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from math import ceil, floor, isinf, pi
from typing import Any

from haccp.cli import terminal
from haccp.cli.cooling_question import COMPONENTS, Asked, Question, ask, thickness
from haccp.cli.cooling_words import degrees_in, length_in, shown
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.naming import find, open_names
from haccp.language import ENGLISH, counted, message, phrase, read_in
from haccp.phrases import any_of, ranging
from haccp.physics.cooling_setup import Consistency, Load, Pot, Roast, Slab, Stage
from haccp.physics.planning import (
    ASSUMPTIONS,
    Alternative,
    CoolingPlan,
    PlannedCurve,
    alternatives,
    deepest,
    plan,
    portions,
)
from haccp.quantities import INCH_M
from haccp.record.bodies import CoolingPlanned
from haccp.record.entries import Draft
from haccp.temperature import Degree
from haccp.time import spell

_CERTAINTY = 0.9
_SIZES = {"full-size": message("full-size"), "half-size": message("half-size")}
_UNSTIRRED = {
    Consistency.THICK: message("not stirred, thick or solid"),
    Consistency.THIN: message("not stirred, thin"),
}
_STEP_MIN = 10
_HEIGHT = 14

# Roberts et al. 2013, Olds et al. 2013 (abstracts).
UNSTIRRED_FAILED = message(
    "In published trials 2-inch pans of chili, tomato sauce and taco meat failed in an ice bath "
    "that nobody stirred, and every 3-inch pan: less than this estimate says."
)

LABEL = message("ESTIMATE from models, not from measurements: it changes no verdict.")
_CAUTION = message("Only readings show that food was cold in time: measure it.")


def answer(
    session: Session, question: Question, batch: str | None, by: str | None, *, json_: bool
) -> None:
    """Print the plan, and store it with a batch where one is named."""
    asked = ask(session, question)
    if batch and asked.is_now:
        raise Refused(
            phrase("A plan is stored from the start of a cooling: leave out --batch from now on.")
        )
    person = session.by(by) if batch else None
    code = find(batch, open_names(session.record), "open batch") if batch else None
    found = plan(asked.setup)
    curve = found.curve(_moments(found))
    if person:
        with read_in(ENGLISH):
            words = ask(session, question).words  # what is stored is English for all
        body = CoolingPlanned(asked=words, curve=tuple(_stored(curve)))
        session.append(Draft(body=body, at=session.now, person=person.initials, batch=code))
    if json_:
        terminal.as_json({**_plain(asked, found, curve), "stored_with": code})
        return
    _tell(asked, found, curve)
    if code:
        terminal.say(phrase("Stored with {batch}.", batch=code))


def _tell(asked: Asked, found: CoolingPlan, curve: PlannedCurve) -> None:
    terminal.paragraph(phrase(LABEL))
    terminal.paragraph(phrase("Asked: {words}.", words=asked.words))
    if asked.likeness:
        terminal.paragraph(asked.likeness)
    if asked.taken:
        taken = "; ".join(asked.taken)
        terminal.paragraph(phrase("Taken, as not typed: {taken}.", taken=taken))
    terminal.paragraph(
        phrase("Composition: {food} ({source}).", food=asked.food.name, source=asked.food.source)
    )
    terminal.lines("")
    terminal.paragraph(
        phrase(
            "Hours from {start} until 5, 50 and 95 of 100 such batches are down to:",
            start=shown(found.setup.start, asked.degree),
        )
    )
    rows = [
        (
            shown(one.stage.celsius, asked.degree),
            *(_hours(minutes) for minutes in (one.early, one.middle, one.late)),
            _allowed(one.stage, asked),
            chance_words(one.chance),
        )
        for one in found.crossings
    ]
    terminal.table(("", "5", "50", "95", phrase("allowed"), phrase("in time")), rows)
    if len(rows) > 1:
        terminal.paragraph(phrase("All in time: {chance}.", chance=chance_words(found.chance)))
    terminal.lines("")
    _tell_curve(asked, found, curve)
    _tell_side_by_side(asked)
    terminal.paragraph(phrase("As asked: {load}.", load=_filling(found.setup.load, asked)))
    _tell_deepest(asked, found)
    if found.chance < _CERTAINTY:
        _tell_changes(asked, found)
    terminal.lines("")
    for caution in _cautions(asked, found):
        terminal.paragraph(caution)
    terminal.paragraph(
        phrase(
            "{judged} Assumptions: haccp plan-cooling --assumptions",
            judged=terminal.judged_by(asked.limits),
        )
    )
    terminal.paragraph(phrase(terminal.CAUTION))


def _tell_deepest(asked: Asked, found: CoolingPlan) -> None:
    best = deepest(found.setup, _CERTAINTY)
    if best:
        most = _filling(best.setup.load, asked, every_size=True)
        terminal.paragraph(phrase("Most that is in time with 90 % certainty: {most}.", most=most))
    else:
        terminal.paragraph(
            phrase(
                "Not even {depth} is in time with 90 % certainty.",
                depth=length_in(INCH_M / 2, asked.metric),
            )
        )


def _side_by_side(asked: Asked) -> tuple[CoolingPlan, ...]:
    """Plan food that stands in a bath stirred and not stirred; nothing for any other."""
    setup = asked.setup
    if setup.bath is None or isinstance(setup.load, Roast | Slab):
        return ()
    return tuple(
        plan(replace(setup, consistency=how)) for how in (Consistency.STIRRED, asked.unstirred)
    )


def _tell_side_by_side(asked: Asked) -> None:
    both = _side_by_side(asked)
    if not both:
        return
    levels = [shown(one.celsius, asked.degree) for one in asked.setup.stages]
    names = (
        phrase("stirred every quarter of an hour"),
        phrase(_UNSTIRRED[asked.unstirred]),
    )
    rows = [
        (
            percent(found.chance),
            *(ranging(_hours(one.middle), _hours(one.late)) for one in found.crossings),
            name,
        )
        for name, found in zip(names, both, strict=True)
    ]
    terminal.table((phrase("in time"), *levels, phrase("in the ice bath")), rows)


def _tell_changes(asked: Asked, found: CoolingPlan) -> None:
    changes = alternatives(found.setup, _CERTAINTY)
    terminal.lines("")
    rows = [(percent(one.plan.chance), _changed(one, asked)) for one in changes]
    heads = (phrase("in time"), phrase("what would change it (Food Code 3-501.15)"))
    terminal.table(heads, rows)
    if all(one.plan.chance < _CERTAINTY for one in changes):
        terminal.paragraph(
            phrase("None of these is enough alone: do several at once, or cool less at a time.")
        )


def _changed(one: Alternative, asked: Asked) -> str:
    """Tell a change, and in what air an ice bath is: a warm room's keeps food warm from above."""
    setup, change = one.plan.setup, phrase(one.change)
    load = _filling(setup.load, asked)
    if not setup.bath:
        return phrase("{change}: {load}", change=change, load=load)
    air = shown(setup.air.celsius, asked.degree)
    return phrase("{change} (air at {air}): {load}", change=change, air=air, load=load)


def _tell_curve(asked: Asked, found: CoolingPlan, curve: PlannedCurve) -> None:
    hours = [minute / 60 for minute in curve.minutes]
    lines = ((curve.low, "·"), (curve.high, "·"), (curve.middle, "braille"))
    terminal.chart(
        [
            terminal.Series(hours, [degrees_in(one, asked.degree) for one in c], marker)
            for c, marker in lines
        ],
        {degrees_in(stage.celsius, asked.degree) for stage in found.setup.stages},
        asked.degree,
        lambda hour: phrase("{hours} h", hours=hour),
        _HEIGHT,
    )


def _plain(asked: Asked, found: CoolingPlan, curve: PlannedCurve) -> dict[str, Any]:
    """Give the answer as plain values; minutes, null for never; chances are never 0 or 1."""
    best = deepest(found.setup, _CERTAINTY)
    enough = found.chance >= _CERTAINTY
    return {
        "label": phrase(LABEL),
        "asked": asked.words,
        "likeness": asked.likeness or None,
        "taken": asked.taken,
        "composition": {
            "food": asked.food.name,
            "source": asked.food.source,
            **{name: getattr(asked.food.composition, name) for name in COMPONENTS},
        },
        "degree": asked.degree,
        "then": _plain_then(asked),
        "counts_from_now": asked.is_now,
        **_plain_plan(asked, found),
        "most_with_90_percent": best and _plain_plan(asked, best),
        "stirred_or_not": [
            {"consistency": one.setup.consistency, **_plain_plan(asked, one)}
            for one in _side_by_side(asked)
        ],
        "changes": [
            {"change": phrase(one.change), **_plain_plan(asked, one.plan)}
            for one in (() if enough else alternatives(found.setup, _CERTAINTY))
        ],
        "curve": {
            "minutes": curve.minutes,
            **{
                name: [round(degrees_in(one, asked.degree), 1) for one in line]
                for name, line in (
                    ("low", curve.low),
                    ("middle", curve.middle),
                    ("high", curve.high),
                )
            },
        },
        "assumptions": [*map(phrase, ASSUMPTIONS)],
        "cautions": [*_cautions(asked, found), phrase(terminal.CAUTION)],
        "limits": terminal.limit_set(asked.limits),
    }


def _plain_then(asked: Asked) -> dict[str, Any] | None:
    then = asked.setup.then
    if then is None:
        return None
    return {
        "at": None if then.celsius is None else round(degrees_in(then.celsius, asked.degree), 1),
        "after_min": then.minutes,
        "air": round(degrees_in(then.air.celsius, asked.degree), 1),
        "bath": then.bath is not None,
        "consistency": then.consistency,
    }


def _plain_plan(asked: Asked, found: CoolingPlan) -> dict[str, Any]:
    load = found.setup.load
    return {
        "depth_in": round(thickness(load) / INCH_M, 2),
        "containers": _filling(load, asked, every_size=True),
        "stages": [
            {
                "level": round(degrees_in(one.stage.celsius, asked.degree), 1),
                "allowed": _allowed(one.stage, asked),
                "early_min": _plain_minutes(one.early),
                "middle_min": _plain_minutes(one.middle),
                "late_min": _plain_minutes(one.late),
                "chance": plain_chance(one.chance),
            }
            for one in found.crossings
        ],
        "chance": plain_chance(found.chance),
        "chance_words": chance_words(found.chance),
    }


def _plain_minutes(minutes: float) -> int | None:
    return None if isinf(minutes) else ceil(minutes)


def plain_chance(chance: float) -> float:
    """Give a chance to two decimals, rounded down, never 0 or 1."""
    return min(max(floor(chance * 100) / 100, 0.01), 0.99)


def chance_words(chance: float) -> str:
    """Put a chance into words and percent, rounded down; nothing is certain.

    Where "about even" and what is surer begin, is as in a forecast.
    """
    if chance >= 0.9:
        word = message("very likely, {share}")
    elif chance > 0.6:
        word = message("likely, {share}")
    elif chance >= 0.4:
        word = message("about even, {share}")
    elif chance >= 0.1:
        word = message("unlikely, {share}")
    else:
        word = message("very unlikely, {share}")
    return phrase(word, share=percent(chance))


def percent(chance: float) -> str:
    """Put a chance in percent, rounded down; nothing is certain."""
    if chance > 0.99:
        return phrase("above 99 %")
    return phrase("below 1 %") if chance < 0.01 else f"{floor(chance * 100)} %"


def _hours(minutes: float) -> str:
    """Spell a time ``3:25``, to the next five minutes: more would be false precision."""
    if isinf(minutes):
        return phrase("never")
    hours, rest = divmod(ceil(minutes / 5) * 5, 60)
    return f"{hours}:{rest:02d}"


def _allowed(stage: Stage, asked: Asked) -> str:
    duration = spell(timedelta(minutes=stage.minutes))
    if asked.is_now:
        return phrase("{duration} from now", duration=duration)
    since = asked.setup.start if stage.since is None else stage.since
    return phrase("{duration} from {level}", duration=duration, level=shown(since, asked.degree))


def _filling(load: Load, asked: Asked, *, every_size: bool = False) -> str:
    """Say how deep or thick, and how many of which containers the amount makes."""
    thick = length_in(thickness(load), asked.metric)
    if isinstance(load, Roast | Slab):
        return phrase("{depth} thick", depth=thick)
    if asked.litres is None:
        return phrase("{depth} deep", depth=thick)
    if isinstance(load, Pot):
        one = pi * load.diameter**2 / 4 * load.depth * 1000
        count = ceil(round(asked.litres / one, 9))
        return counted(
            "{depth} deep, {count} such pot", "{depth} deep, {count} such pots", count, depth=thick
        )
    pans = portions(asked.litres, load.depth)
    if not pans:
        return phrase("{depth} deep, which is more than a pan holds", depth=thick)
    if every_size:
        counts = [
            phrase("{number} {size}", number=one.count, size=phrase(_SIZES[one.size]))
            for one in pans
        ]
        high = length_in(pans[0].height_in * INCH_M, asked.metric)
        pans_told = any_of(counts)
        return phrase(
            "{depth} deep, {pans} pans {high} high", depth=thick, pans=pans_told, high=high
        )
    first = pans[0]
    return counted(
        "{depth} deep, {count} full-size pan",
        "{depth} deep, {count} full-size pans",
        first.count,
        depth=thick,
    )


def _cautions(asked: Asked, found: CoolingPlan) -> Iterator[str]:
    yield phrase(_CAUTION)
    if asked.is_now:
        yield phrase("It is taken to be as warm all through as its warmest point is now.")
    if asked.food.caution:
        yield phrase(asked.food.caution)
    yield from map(phrase, found.cautions)
    if _side_by_side_fails(asked):
        yield phrase(UNSTIRRED_FAILED)


def _side_by_side_fails(asked: Asked) -> bool:
    solid = isinstance(asked.setup.load, Roast | Slab)
    return bool(asked.setup.bath) and not solid and asked.unstirred is Consistency.THICK


def _moments(found: CoolingPlan) -> list[int]:
    """Every ten minutes until nearly all are cold: from what is allowed up to twice that."""
    allowed = sum(stage.minutes for stage in found.setup.stages)
    end = min(max(found.crossings[-1].late, allowed), 2 * allowed)
    return list(range(0, ceil(end / _STEP_MIN) * _STEP_MIN + 1, _STEP_MIN))


def _stored(curve: PlannedCurve) -> Iterator[str]:
    points = zip(curve.minutes, curve.low, curve.middle, curve.high, strict=True)
    for minutes, *temperatures in points:
        yield " ".join(
            [f"{minutes:g}", *(f"{degrees_in(one, Degree.F):.1f}" for one in temperatures)]
        )

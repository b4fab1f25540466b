"""Which of the kitchen's regular checks can show the limit that they serve, with the arithmetic."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from haccp.kitchen.places import keeps
from haccp.kitchen.unseen import Unseen, interval_that_shows, unseen
from haccp.language import counted, message, phrase
from haccp.phrases import all_of
from haccp.printing.codes_in_words import in_words
from haccp.printing.plan_context import Plan
from haccp.rules.account.steps import Keeps
from haccp.rules.evidence import Step
from haccp.rules.remedies import SAVED_WITHIN
from haccp.time import spell

_DAY = timedelta(days=1)
_SHOWN, _NOT_SHOWN = message("yes"), message("NO")


@dataclass(frozen=True, slots=True)
class Check:
    """A regular check beside a time that it serves: `row` for the table, `told` where it fails."""

    row: tuple[str, str, str, str, str]
    told: str = ""


def checks(plan: Plan) -> list[Check]:
    """Give every regular check of the kitchen, what it leaves unseen and what it has to show."""
    return [*_holdings(plan), *_cooling(plan), *_thermometers(plan)]


def _holdings(plan: Plan) -> Iterator[Check]:
    """Give the checks of units that leave the same unseen as one."""
    alike: dict[tuple[Keeps, Unseen], list[str]] = {}
    for unit in plan.units:
        found = unseen(plan.register, plan.printed, keeps(unit), unit.name)
        alike.setdefault((keeps(unit), found), []).append(unit.name)
    for kept, step in ((Keeps.HOT, Step.HOT_HOLD), (Keeps.COLD, Step.COLD_HOLD)):
        if step in plan.steps:
            found = unseen(plan.register, plan.printed, kept)
            alike.setdefault((kept, found), []).append(phrase("food elsewhere"))
    for (kept, found), names in alike.items():
        yield from _holding(plan, kept, found, all_of(names))


def _holding(plan: Plan, kept: Keeps, found: Unseen, names: str) -> Iterator[Check]:
    check = phrase("{names} ({holds})", names=names, holds=in_words(str(kept)))
    if kept is Keeps.FROZEN:
        timeless = phrase("no time is published to compare it with")
        yield Check((check, _arithmetic(found), timeless, "–", "–"))
        return
    told = False
    for served, time in _served(plan):
        shown = found.shows(time)
        other = "–" if shown else _would_show(plan, found, time)
        words = _arithmetic(found) if shown else _compared(found, time)
        answer = _SHOWN if shown else _NOT_SHOWN
        row = (check, words, served, phrase(answer), other)
        # what cannot show the longer time cannot show the shorter: that is told once
        yield Check(row, "" if shown or told else _failing(check, words, served))
        told = told or not shown


def _failing(check: str, words: str, served: str) -> str:
    told = message("{check}: its checks cannot show: {served}. Unseen at most: {arithmetic}.")
    return phrase(told, check=check, served=served, arithmetic=words)


def _served(plan: Plan) -> Iterator[tuple[str, timedelta]]:
    """Give the times that a check of held food serves, the longer one first."""
    names = {limit.name for limit in plan.limits.limits}
    if "time-out-longest" in names:
        longest = plan.limits.get("time-out-longest")
        if longest.within:
            told = message("out of limits for {time} at most ({citation})")
            words = phrase(told, time=spell(longest.within), citation=longest.citation)
            yield words, longest.within
    told = message("found within {time}, while it may be saved (corrective actions)")
    yield phrase(told, time=spell(SAVED_WITHIN)), SAVED_WITHIN


def _arithmetic(found: Unseen) -> str:
    """Write out what is unseen at most: ``12 h + 1 h grace = 13 h``."""
    told = phrase(
        "{every} + {grace} grace = {longest}",
        every=spell(found.every),
        grace=spell(found.grace),
        longest=spell(found.longest),
    )
    if not found.over_a_closure:
        return told
    over = message("{arithmetic}; over closed hours {time}")
    return phrase(over, arithmetic=told, time=spell(found.over_a_closure))


def _compared(found: Unseen, time: timedelta) -> str:
    return f"{_arithmetic(found)} > {spell(time)}"


def _would_show(plan: Plan, found: Unseen, time: timedelta) -> str:
    grace = timedelta(minutes=plan.kitchen.grace_min)
    every = interval_that_shows(time, grace)
    if every is None:
        return phrase("none with a grace of {grace}: a shorter grace", grace=spell(grace))
    if found.over_a_closure > time:
        told = message("every {time}, closed hours too")
        return phrase(told, time=spell(every))
    return phrase("every {time}", time=spell(every))


def _cooling(plan: Plan) -> Iterator[Check]:
    """Say what of a cooling's first stage is lost where its start is not read as it passes."""
    stage = plan.limits.get("cooling-stage-1")
    if Step.COOL not in plan.steps or not (stage.within and stage.start):
        return
    found = unseen(plan.register, plan.printed, Keeps.HOT)
    start = f"{stage.start.number(plan.degree)} °{plan.degree}"
    left = max(stage.within - found.longest, timedelta(0))
    yield Check(
        (
            phrase("cooling, from hour to hour"),
            phrase(
                "a start that is not read counts from the last reading at {start}, up to {gap} "
                "earlier: {left} of {time} left",
                start=start,
                gap=spell(found.longest),
                left=spell(left),
                time=spell(stage.within),
            ),
            f"{stage.citation}: {spell(stage.within)}",
            phrase("only if its start is read"),
            phrase("read as it passes {start}, and in time for each limit", start=start),
        )
    )


def _thermometers(plan: Plan) -> Iterator[Check]:
    """Compare the interval of thermometer checks with how long food may still be there."""
    days, mark = plan.kitchen.thermometer_days, plan.limits.get("date-mark")
    there = mark.within or 7 * _DAY
    check = phrase("thermometers, in ice or boiling water")
    served = counted(
        "found while the food that was read with it is here: {count} day ({citation})",
        "found while the food that was read with it is here: {count} days ({citation})",
        there.days,
        citation=mark.citation,
    )
    if days and days * _DAY <= there:
        yield Check((check, _in_doubt(days), served, phrase(_SHOWN), "–"))
        return
    words = _in_doubt(days) if days else phrase("no interval is set: without end")
    would = phrase("every {time}", time=f"{there.days} d")
    yield Check((check, words, served, phrase(_NOT_SHOWN), would), _failing(check, words, served))


def _in_doubt(days: int) -> str:
    return counted(
        "up to {count} day of readings in doubt", "up to {count} days of readings in doubt", days
    )

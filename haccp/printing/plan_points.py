"""The plan's critical control points: limits, monitoring, records, corrective actions."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Any

from haccp.language import message, phrase
from haccp.limits import Limit
from haccp.printing.codes_in_words import in_words, limit_in_words, named, step_in_words
from haccp.printing.limits_in_words import stated
from haccp.printing.plan_context import Plan, minutes
from haccp.printing.practice import PRACTICE
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Bounds, Finding, Reason, Step, Verdict
from haccp.rules.remedies import Option, options

_WHILE_OPEN, _EITHER = message("while there is time"), message("not met or not shown")
_NOT_MET, _NOT_SHOWN = message("not met"), message("not shown")


@dataclass(slots=True)
class _Action:
    """One thing to do, for which limits, and by basis the sections that it rests on, in order."""

    option: Option
    limits: dict[str, None] = field(default_factory=dict)
    rests_on: dict[str, dict[str, None]] = field(default_factory=dict)

    def add(self, limit: Limit, option: Option) -> None:
        self.limits[limit_in_words(limit.name)] = None
        self.rests_on.setdefault(option.basis, {})[option.citation] = None


def point(plan: Plan, step: Step) -> dict[str, Any]:
    """Give all that 8-201.14 asks of a critical control point."""
    practice, limits = PRACTICE[step], plan.limits_at(step)
    return {
        "title": f"{plan.number(step)}: {step_in_words(step)}",
        "facts": [
            [phrase("Foods"), ", ".join(plan.foods_at(step)) or phrase("every food")],
            [phrase("Measured"), phrase(practice.measured)],
            [phrase("How often"), _often(plan, step)],
            [
                phrase("By whom"),
                phrase(
                    "whoever has the food in hand, by initials: {initials}",
                    initials=", ".join(plan.initials()),
                ),
            ],
            [
                phrase("Recorded"),
                phrase(
                    "{command}; without power on the sheet “{sheet}”",
                    command=practice.command,
                    sheet=phrase(practice.form),
                ),
            ],
            [
                phrase("Verified"),
                phrase("a manager reviews and signs each day; see Verification"),
            ],
        ],
        "limits": [_limit(plan, limit) for limit in limits],
        "left_out": plan.left_out(step),
        "actions": _actions(plan, step, limits),
    }


def _limit(plan: Plan, limit: Limit) -> dict[str, Any]:
    local = {(one.name, one.kind) for one in plan.limits.overrides}
    return {
        "limit": named(limit),
        "asked": stated(limit, plan.degree),
        # where no temperature says it, the Code's own words do
        "text": "" if limit.rows else limit.text,
        "citation": limit.citation,
        "source": plan.cite(limit.source, "verified"),
        "basis": "" if limit.basis == "verified" else in_words(limit.basis_in_words),
        "override": (limit.name, limit.kind) in local,
    }


def _often(plan: Plan, step: Step) -> str:
    every = minutes(plan.kitchen.check_every_min)
    if step is Step.COOL:
        return phrase("at the start, then every {time}, and in time for each limit", time=every)
    if not TRAITS[step].held_to:
        return phrase(PRACTICE[step].often)
    hot = step is Step.HOT_HOLD
    units = [
        phrase("{unit} every {time}", unit=unit.name, time=minutes(unit.every_min))
        for unit in plan.units
        if (unit.holds == "hot") is hot
    ]
    return "; ".join([*units, phrase("food elsewhere every {time}", time=every)])


# ---- corrective actions ----


def _actions(plan: Plan, step: Step, limits: Sequence[Limit]) -> list[list[str]]:
    """List what the tool proposes for these limits: in time, broken, or not shown.

    What gives the food up stands first: food that is not shown to be safe is discarded, unless one
    of the other rows holds.
    """
    still_open = _proposed(plan, step, limits, Verdict.OPEN)
    broken = _proposed(plan, step, limits, Verdict.NOT_MET)
    doubtful = _proposed(plan, step, limits, Verdict.NOT_SHOWN)
    told = [(_WHILE_OPEN, action) for action in still_open.values()]
    told += [(_EITHER, one) for key, one in broken.items() if key in doubtful]
    told += [(_NOT_MET, one) for key, one in broken.items() if key not in doubtful]
    told += [(_NOT_SHOWN, one) for key, one in doubtful.items() if key not in broken]
    ordered = sorted(told, key=lambda one: (one[0] is not _WHILE_OPEN, not one[1].option.gives_up))
    names = {limit.name for limit in limits}
    return [_row(state, action, len(names)) for state, action in ordered]


def _row(state: str, action: _Action, limits: int) -> list[str]:
    option = action.option
    return [
        phrase("{state}: {when}", state=phrase(state), when=option.when)
        if option.when
        else phrase(state),
        option.text,
        phrase("Any limit") if len(action.limits) == limits > 1 else ", ".join(action.limits),
        "; ".join(
            f"{', '.join(cited)} ({in_words(basis)})" for basis, cited in action.rests_on.items()
        ),
    ]


def _proposed(
    plan: Plan, step: Step, limits: Sequence[Limit], verdict: Verdict
) -> dict[tuple[str, str], _Action]:
    found: dict[tuple[str, str], _Action] = {}
    for limit in limits:
        for option in _options(plan, step, limit, verdict):
            action = found.setdefault((option.text, option.when), _Action(option))
            action.add(limit, option)
    return found


def _options(plan: Plan, step: Step, limit: Limit, verdict: Verdict) -> Iterator[Option]:
    """Ask what would be proposed, were this limit in danger, broken or not shown right now.

    How long what is not shown lasted is not known either.
    """
    known = verdict is not Verdict.NOT_SHOWN
    imagined = Finding(
        step=step,
        # what it asks for stands above, and for each kind of food
        limit=replace(limit, text=phrase("until its limit above is met.")),
        verdict=verdict,
        reason=Reason.PAST_ITS_DAY if limit.name == "date-mark" else Reason.OUT_OF_LIMITS,
        readings=(),
        start=Bounds(plan.printed, plan.printed) if known else Bounds(None, None),
        longest=timedelta(0) if known else None,
        due=plan.printed,
    )
    late_reheat = plan.kitchen.late_reheat
    yield from options(imagined, last=None, now=plan.printed, late_reheat=late_reheat)

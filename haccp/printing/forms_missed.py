"""What a log sheet tells a cook to do when a number is missed, in kitchen words.

Numbers and sections are those of the limits in force. What is done is what `rules.remedies`
proposes once a thing has happened, told here before it has; where advice differs the stricter
stands.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from haccp.language import message, phrase
from haccp.limits import CountsFrom, Limit
from haccp.limits.limit import Side
from haccp.printing.codes_in_words import in_words
from haccp.printing.forms_context import FormsContext, Remedy, cited
from haccp.rules.asked import held, target
from haccp.rules.evidence import Step
from haccp.rules.remedies import SAVED_WITHIN
from haccp.temperature import Degree
from haccp.time import spell

# By the side of a limit, and whether its number keeps it: what a thermometer shows that breaks it.
_BROKEN = {
    (Side.AT_OR_ABOVE, True): message("below {number}"),
    (Side.AT_OR_ABOVE, False): message("{number} or below"),
    (Side.AT_OR_BELOW, True): message("above {number}"),
    (Side.AT_OR_BELOW, False): message("{number} or above"),
}
_AT_THE_DOOR = {
    "receiving-cold": message("Cold: {broken}."),
    "receiving-egg-air": message("Eggs, the air around them: {broken}."),
    "receiving-hot": message("Hot: {broken}."),
    "receiving-frozen": message("Frozen: {broken}, or soft."),
}
# By whether its very time keeps a limit that is a time.
_TOO_LONG = {True: message("Out for more than {time}."), False: message("Out for {time} or more.")}
_FEW = 4
_DISCARD = message("Discard it.")
_COOL_FASTER = message("Cool it faster now: shallow pans, small pieces, an ice bath, stirring.")
_MEASURE_NOW = message(
    "Measure now and write the real time. Never write a number that nobody read."
)


def broken(limit: Limit, degree: Degree) -> str:
    """Say what a thermometer shows where a limit is not kept: ``below 135 °F``."""
    number = f"{limit.level.number(degree)} °{degree}"
    return phrase(_BROKEN[limit.side, limit.inclusive], number=number)


def latest_moments(cooling: Sequence[Limit]) -> Iterator[tuple[Limit, timedelta]]:
    """Give each limit of a cooling with its latest moment after the start of its clock."""
    before = timedelta(0)
    for limit in cooling:
        assert limit.within  # a cooling limit is a time: see the loader
        before = limit.within + (
            before if limit.clock is CountsFrom.PREVIOUS_STAGE else timedelta(0)
        )
        yield limit, before


def at_the_door(forms: FormsContext) -> Iterator[Remedy]:
    limits = forms.of(Step.RECEIVE)
    named = [limit for limit in limits if limit.name in _AT_THE_DOOR]
    yield (
        " ".join(
            phrase(_AT_THE_DOOR[limit.name], broken=broken(limit, forms.degree)) for limit in named
        ),
        phrase("Send it back; do not put it away. Write down why, and who brought it."),
        _sections(named),
    )
    for limit in limits:
        if limit.name == "cooling-received" and limit.within:
            asked, time = target(limit, forms.degree), spell(limit.within)
            yield (
                phrase("A law lets it arrive warmer."),
                phrase(
                    "Cool it to {asked} within {time} from delivery, or discard it.",
                    asked=asked,
                    time=time,
                ),
                cited(limit),
            )


def out(forms: FormsContext) -> Iterator[Remedy]:
    """Give what to do about food that stands out of hot and cold holding."""
    allowed, longest = (forms.limits.get(f"time-out-{name}") for name in ("allowed", "longest"))
    assert allowed.within and longest.within  # they are times: see the loader
    yield (
        phrase("Out for nearly {time}.", time=spell(allowed.within)),
        phrase("Chill it, heat it or serve it now; then measure it."),
        cited(allowed),
    )
    if longest.within > allowed.within:
        yield (
            phrase(_TOO_LONG[allowed.inclusive], time=spell(allowed.within)),
            phrase("Discard it, unless something shows that it was out for less time."),
            cited(allowed),
        )
    yield (
        phrase(_TOO_LONG[longest.inclusive], time=spell(longest.within)),
        phrase(_DISCARD),
        cited(longest),
    )
    yield phrase("Nobody knows for how long it was out."), phrase(_DISCARD), cited(longest)


def on_the_heat(forms: FormsContext) -> Iterator[Remedy]:
    """Give what to do about food that is not cooked enough."""
    limits = forms.of(Step.COOK)
    cooked = [limit for limit in limits if limit.name in ("cook", "cook-microwave")]
    yield (
        phrase("Below its number, or not held there for its time."),
        phrase("Leave it on the heat and measure again. Do not serve, hold or cool it."),
        _sections(cooked),
    )
    yield (
        phrase("It has left the heat without its number."),
        phrase(_DISCARD),
        _sections(cooked),
    )
    for limit in limits:
        if limit.name == "initial-heating" and limit.within and not limit.kind:
            yield (
                phrase(
                    "Cooked in two goes: the first longer than {time}.", time=spell(limit.within)
                ),
                phrase("Cook it to its number now. If it was cooled or left to stand: discard it."),
                cited(limit),
            )
    ovens = [limit for limit in limits if limit.name == "oven"]
    if ovens:
        yield (
            phrase("Whole roast: the oven is not at its number."),
            phrase("Set the oven right and tell a manager, who decides about the roast."),
            _sections(ovens),
        )


def cooling(forms: FormsContext) -> Iterator[Remedy]:
    """Give what saves a cooling while there is time, and what follows once there is none."""
    degree, first = forms.degree, forms.limits.get("cooling-stage-1")
    assert first.within  # a cooling limit is a time: see the loader
    yield phrase("It falls too slowly."), phrase(_COOL_FASTER), "3-501.15(A)"
    reheat = forms.limits.get("reheat")
    hot = _hot(reheat, degree)
    again = phrase(
        "Reheat it to {hot} before {time} have passed since the start, once only. Then cool it "
        "another way, on a new sheet.",
        hot=hot,
        time=spell(first.within),
    )
    yield (
        phrase(
            "It will not be {asked} at {time}, and there is still time.",
            asked=target(first, degree),
            time=spell(first.within),
        ),
        again,
        phrase("{citation}; from memory", citation=f"{reheat.citation}; {first.citation}"),
    )
    for limit, moment in latest_moments(forms.of(Step.COOL)):
        late = forms.kitchen.late_reheat if limit.name == "cooling-stage-1" else ""
        missed = phrase(
            "{broken} at {time}, or not measured by then.",
            broken=broken(limit, degree),
            time=spell(moment),
        )
        done = (
            phrase("Discard it; or reheat it to {hot} now, once, and start again.", hot=hot)
            if late
            else phrase(_DISCARD)
        )
        if limit.clock is CountsFrom.PREPARATION:
            missed = phrase("From room temperature: {missed}", missed=missed)
        yield _capital(missed), done, "; ".join(filter(None, (cited(limit), late)))


def reheating(forms: FormsContext) -> Iterator[Remedy]:
    limits = [one for one in forms.of(Step.REHEAT) if one.rows and one.within]
    yield (
        phrase("Not at its number yet, and there is time."),
        phrase("Leave it on the heat, stir, measure again. Not in a unit that only holds."),
        _sections(limits),
    )
    for time in sorted({one.within for one in limits if one.within}):
        yield (
            phrase("Not at its number {time} after the start.", time=spell(time)),
            phrase(_DISCARD),
            _sections([one for one in limits if one.within == time]),
        )


def holding(forms: FormsContext, holds: str) -> Iterator[Remedy]:
    """Give what to do about what a unit holds, and about a check that nobody made."""
    limit = forms.limits.get(f"{holds}-holding")
    if holds == "frozen":
        yield from _thawing(forms, limit)
    else:
        yield from _out_of_limits(forms, holds, limit)
    yield phrase("A check was missed."), phrase(_MEASURE_NOW), limit.citation


def _out_of_limits(forms: FormsContext, holds: str, limit: Limit) -> Iterator[Remedy]:
    reheat = forms.limits.get("reheat")
    hot = holds == "hot"
    saved = (
        phrase(
            "Reheat it to {hot} on the heat. Turn the unit up or mend it, then hold it hot again.",
            hot=_hot(reheat, forms.degree),
        )
        if hot
        else phrase("Chill it fast or move it to a colder unit; mend the one that it was in.")
    )
    shown, time = _broken_by_kind(forms, limit), spell(SAVED_WITHIN)
    yield (
        _capital(phrase("{broken}, and good at most {time} ago.", broken=shown, time=time)),
        saved,
        phrase(
            "{citation}; the {time} from memory",
            citation=cited(reheat) if hot else "3-501.15(A)",
            time=time,
        ),
    )
    yield (
        _capital(phrase("{broken} for longer, or nobody knows.", broken=shown)),
        phrase("Discard it. A manager may decide otherwise if something shows that it was less."),
        phrase("{citation}; the {time} from memory", citation=cited(limit), time=time),
    )


def _broken_by_kind(forms: FormsContext, limit: Limit) -> str:
    """Say what breaks a unit's limit, and what the one of a kind of food that is another."""
    step = Step.HOT_HOLD if limit.name == "hot-holding" else Step.COLD_HOLD
    shown = broken(limit, forms.degree)
    for own in forms.of(step):
        if own.name == limit.name and own.kind and own.level != limit.level:
            kind, of_kind = in_words(own.kind), broken(own, forms.degree)
            shown = phrase("{broken} ({kind}: {own})", broken=shown, kind=kind, own=of_kind)
    return shown


def _thawing(forms: FormsContext, limit: Limit) -> Iterator[Remedy]:
    cold = forms.limits.get("cold-holding")
    shown = _capital(broken(limit, forms.degree))
    yield (
        phrase("{broken}, and the food is hard all through.", broken=shown),
        phrase("Move it to a unit that freezes; mend this one."),
        cited(limit),
    )
    yield (
        phrase("Soft, and no part is {broken}.", broken=broken(cold, forms.degree)),
        phrase("Hold it cold as thawed food; its date mark goes on from today."),
        "3-501.13(A), 3-501.17",
    )
    yield (
        phrase("A part of it is {broken}.", broken=broken(cold, forms.degree)),
        phrase(_DISCARD),
        cited(cold),
    )


def time_control(forms: FormsContext) -> Iterator[Remedy]:
    limits = forms.of(Step.TIME_CONTROL)
    yield (
        phrase("Not hot or cold enough as it leaves."),
        phrase("It stays in holding: its time may not begin."),
        _sections(limits),
    )
    ceilings = [limit for limit in limits if limit.start]
    for number in dict.fromkeys(broken(limit, forms.degree) for limit in ceilings):
        yield (
            _capital(phrase("{broken} before its time is over.", broken=number)),
            phrase(_DISCARD),
            _sections([one for one in ceilings if broken(one, forms.degree) == number]),
        )
    yield (
        phrase("Something is left when its time is over, or it has no time on it."),
        phrase("Discard it; it may not go back to holding."),
        _sections(limits),
    )


def thermometer(forms: FormsContext) -> Iterator[Remedy]:
    accuracy = forms.limits.get("thermometer-accuracy")
    yield (
        phrase(
            "Off by more than {difference}.",
            difference=f"{accuracy.level.number(forms.degree)} °{forms.degree}",
        ),
        phrase(
            "Set it right and check it again; if it cannot be set, take it away. Measure again, "
            "with another, all that it measured since its last good check and is still there."
        ),
        f"{cited(accuracy)}; 4-502.11(B)",
    )


def past_its_day() -> Iterator[Remedy]:
    yield phrase("Past its last day, or without a mark."), phrase(_DISCARD), "3-501.18(A)"


def _hot(reheat: Limit, degree: Degree) -> str:
    asked, hold = target(reheat, degree), reheat.rows[0].hold
    return held(asked, hold) if hold else asked


def _sections(limits: Sequence[Limit]) -> str:
    """Give the sections of several limits, each once, where they are few enough to read."""
    sections = list(dict.fromkeys(cited(limit) for limit in limits))
    return ", ".join(sections) if len(sections) <= _FEW else phrase("the sections above")


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]

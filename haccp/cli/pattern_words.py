"""The sentences about what comes again: counts with what they may be, and whom to ask is nobody."""

from haccp.cli.trends import clock_of, group, weekday_of
from haccp.kitchen.patterns import Counts, Pattern
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.rules.asked import target

_OF_UNIT = message("{unit} was not {target} on {count} of {among} days ({share}).")
_BETWEEN = message(
    "{unit} was not {target} on {count} of {among} days ({share}), all between {first} and {last}."
)
_AT = message(
    "{unit} was not {target} on {count} of {among} days ({share}), each time at this hour: {first}."
)


def in_words(one: Pattern, register: Register) -> str:
    """Say what comes again, and where to look on."""
    if one.by == "unit":
        return _of_unit(one, register)
    assert one.others is not None  # the rest stands out of others
    shares = phrase(
        "Out of limits in the long run: {share}, the others {others_share}.",
        share=_share(one.counts),
        others_share=_share(one.others),
    )
    if one.by == "thermometer":
        (label,) = one.names
        told = phrase(
            "{thermometer}: out of limits on {count} of {among} days of units, by the others on "
            "{others_bad} of {others_of}.",
            thermometer=label,
            count=one.counts.bad,
            among=one.counts.of,
            others_bad=one.others.bad,
            others_of=one.others.of,
        )
        return f"{told} {shares} {phrase('Check it: haccp ice {label}', label=label)}"
    told = phrase(
        "{way}: {count} of {among} coolings in time, the others {others_good} of {others_of}.",
        way=_way(one),
        count=one.counts.of - one.counts.bad,
        among=one.counts.of,
        others_good=one.others.of - one.others.bad,
        others_of=one.others.of,
    )
    return f"{told} {shares}"


def _of_unit(one: Pattern, register: Register) -> str:
    (unit,) = one.names
    limit = register.limits_at(register.settings[-1].at).get(one.limit)
    first, last = one.between or (0, 0)
    words = _OF_UNIT
    if one.between:
        words = _AT if clock_of(first) == clock_of(last) else _BETWEEN
    told = phrase(
        words,
        unit=unit,
        target=target(limit, register.degree),
        count=one.counts.bad,
        among=one.counts.of,
        share=_share(one.counts),
        first=clock_of(first),
        last=clock_of(last),
    )
    if one.weekday is None:
        return told
    return f"{told} {phrase('Each time on: {weekday}.', weekday=weekday_of(one.weekday))}"


def _way(one: Pattern) -> str:
    columns = {
        "container": ("container", "depth_in"),
        "method": ("method",),
        "food": ("name",),
        "weekday": ("weekday",),
    }[one.by]
    return group(dict(zip(columns, one.names, strict=True)), columns)


def _share(counts: Counts) -> str:
    low, high = counts.bounds
    return f"{low:.0%}-{high:.0%}"

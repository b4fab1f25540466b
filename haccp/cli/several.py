"""Several readings typed in one line: ``well-1 151 well-2 148 walk-in 38 14:05``."""

from collections.abc import Callable, Sequence

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.temperature import Degree, parse_temperature

Pair = tuple[str, str]


def taken_apart(
    words: Sequence[str],
    is_name: Callable[[str], bool],
    is_time: Callable[[str], bool],
    degree: Degree,
) -> tuple[list[Pair], str]:
    """Take a line apart: names with their temperatures, and the time that it ends with, if any.

    Whoever reads the time says what is wrong with it. Raises Refused for a line that can be meant
    in two ways.
    """
    shaped = [
        (pairs, rest)
        for pairs, rest in map(_cut_at, [words] * (len(words) // 2), range(1, len(words) // 2 + 1))
        if all(_is_temperature(temp, degree) for _, temp in pairs[1:])
        and (not rest or is_time(rest))
    ]
    meant = [way for way in shaped if all(is_name(name) for name, _ in way[0][1:])]
    if len(meant) > 1:
        told = message(
            "{words} can be a time or the next name: type what follows in a line of its own."
        )
        raise Refused(phrase(told, words=repr(meant[0][1])))
    ways = meant or shaped
    if ways:
        return ways[-1]
    temps = [_is_temperature(temp, degree) for temp in words[3::2]]
    pairs, rest = _cut_at(words, 1 + [*temps, False].index(False))
    last = rest.split()[0]
    if is_name(last):
        told = message(
            "There is no temperature after {name}: type one, such as haccp hold well-1 151."
        )
        raise Refused(phrase(told, name=last))
    return pairs, rest


def _cut_at(words: Sequence[str], count: int) -> tuple[list[Pair], str]:
    pairs = [(words[2 * n], words[2 * n + 1]) for n in range(count)]
    return pairs, " ".join(words[2 * count :])


def _is_temperature(text: str, degree: Degree) -> bool:
    try:
        parse_temperature(text, degree)
    except Refused:
        return False
    return True

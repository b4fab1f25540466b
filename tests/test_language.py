"""Both languages say the same: every message, its places, its number and its side of a limit.

What is expected of the Spanish is from the reference grammar of the Royal Academy (article and
plural of times, y before i-, o before o-: its "Ortografía" and "Gramática", from memory) and from the
published texts that the catalog names.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import product
from pathlib import Path
from string import Formatter
from zoneinfo import ZoneInfo

import pytest
from babel.messages.catalog import Message

from haccp import limits, phrases
from haccp.catalogs import LANGUAGES, catalog_of, spoken_by
from haccp.cli import terminal
from haccp.language import counted, phrase, read_in
from haccp.limits import Limit
from haccp.limits.limit import Side
from haccp.phrases import all_of, any_of
from haccp.rules.asked import goal, target
from haccp.rules.evidence import Bounds, Finding, Reading, Reason, Step, Verdict
from haccp.rules.kitchen_words import why
from haccp.rules.words import called, explain
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock, dated, day_and_clock, short_day, spell
from tests import catalog

DENVER = ZoneInfo("America/Denver")
OTHERS = [language for language in LANGUAGES if LANGUAGES[language]]


def messages(language: str) -> Iterator[tuple[tuple[str, ...], Message]]:
    """Give the English forms of each message of a catalog, and the message."""
    for one in catalog.read(language):
        if one.id:
            yield catalog.forms(one.id), one


@pytest.mark.parametrize("language", OTHERS)
def test_the_catalog_has_what_the_code_says_and_nothing_else(language: str) -> None:
    said = {one.id for one in catalog.spoken() if one.id}
    known = {one.id for one in catalog.read(language) if one.id}
    assert said - known == set(), "not in the catalog: run python -m tests.catalog"
    assert known - said == set(), "nobody says it any more: run python -m tests.catalog"


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_translated(language: str) -> None:
    assert [one.id for one in catalog.missing(catalog.read(language))] == []
    assert [one.id for one in catalog.read(language) if one.id and one.fuzzy] == []


def test_a_sentence_that_is_put_together_first_is_refused(tmp_path: Path) -> None:
    module = tmp_path / "module.py"
    for wrong in ('phrase(f"{temp} is too warm.")', 'phrase("Too " + word)', "phrase(a or b)"):
        module.write_text(wrong)
        with pytest.raises(catalog.NotWhole, match="module.py:1"):
            list(catalog._calls(module, catalog._OURS))
    module.write_text('phrase("{temp} is " "too warm."); phrase(TABLE[key], temp=temp)')
    assert list(catalog._calls(module, catalog._OURS)) == [("{temp} is too warm.",)]


def places(text: str) -> set[str]:
    """Name the places of a text, each with how it is to be written."""
    braces = {
        f"{name}!{how or ''}:{spec}"
        for _, name, spec, how in Formatter().parse(text)
        if name is not None
    }
    return braces | set(re.findall(r"%\([a-z]+\)s", text))


@pytest.mark.parametrize("language", OTHERS)
def test_each_translation_has_the_places_of_its_message(language: str) -> None:
    for english, one in messages(language):
        every = set().union(*map(places, english))
        needed = set.intersection(*map(places, english))
        # the two lists, and the one and the many moments of "by", differ in the name alone
        for told in catalog.forms(one.string):
            assert needed <= places(told) <= every, one.id


@pytest.mark.parametrize("language", OTHERS)
def test_every_counted_message_has_the_forms_of_its_language(language: str) -> None:
    read = catalog.read(language)
    for _, one in messages(language):
        assert len(catalog.forms(one.string)) == (read.num_plurals if one.pluralizable else 1)


def test_none_and_a_half_are_many_in_spanish() -> None:
    with read_in(catalog_of("es")):
        forms = [counted("{time}", "{time}", hour, time=hour) for hour in (0, 1, 2, 13)]
    assert forms == ["las 0", "la 1", "las 2", "las 13"]


# As long as what a kitchen may call something, and cannot be broken; what else a place may hold is
# known by its name.
LONG = "w" * 40
_MOMENT, _SPELLED, _TEMPERATURE = (
    "a más tardar el mié 30 sep a las 14:05 MDT",
    "100 h 05 min",
    "-100.5 °F",
)
LONGEST = (
    dict.fromkeys(("at", "by", "later_at", "since", "until", "begin", "end", "due"), _MOMENT)
    | dict.fromkeys(("shortest", "longest", "duration", "hold"), _SPELLED)
    | dict.fromkeys(
        ("temp", "later_temp", "level", "hot", "cooler", "warmer", "number"), _TEMPERATURE
    )
    | dict.fromkeys(("count", "among", "running", "fewest", "seq", "later_seq"), _SPELLED)
    | dict.fromkeys(("person", "p", "test_level", "least", "most", "low", "high"), _SPELLED)
    | {"was": "quedó sin demostrar, 3-501.14(A)(1)"}
)
COLUMNS = 80


class _Terminal:
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_fits_a_terminal_of_80_columns(
    language: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    for english, one in messages(language):
        if any(where.startswith("click.") for where, _ in one.locations):
            continue  # click breaks its own lines
        for text in (*english, *catalog.forms(one.string)):
            names = {name.split("!")[0] for name in places(text) if "(" not in name}
            filled = text.format(**(dict.fromkeys(names, LONG) | LONGEST))
            broken = terminal._broken(filled, _Terminal())  # type: ignore[arg-type]
            assert all(len(line) <= COLUMNS for line in broken), broken
            assert len(broken) <= 5, broken


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_verdict_is_short_and_no_cut_line_turns_it_around(language: str) -> None:
    with read_in(catalog_of(language)):
        words = {verdict: called(verdict) for verdict in Verdict}
    assert len(set(words.values())) == len(Verdict)
    assert max(map(len, words.values())) <= 13, "the column of a table"
    for verdict, told in words.items():
        others = [other for one, other in words.items() if one is not verdict]
        assert not any(other.startswith(told) for other in others), told


# --- limits: side, number and unit, in each language, against the limit itself

# How each language says a side, and whether the number itself is still good.
SIDES = {
    "en": {
        "{n} or above": (Side.AT_OR_ABOVE, True),
        "above {n}": (Side.AT_OR_ABOVE, False),
        "{n} or below": (Side.AT_OR_BELOW, True),
        "below {n}": (Side.AT_OR_BELOW, False),
    },
    "es": {
        "{n} o más": (Side.AT_OR_ABOVE, True),
        "más de {n}": (Side.AT_OR_ABOVE, False),
        "{n} o menos": (Side.AT_OR_BELOW, True),
        "menos de {n}": (Side.AT_OR_BELOW, False),
    },
}
_NUMBER = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) °([FC])")


def understood(text: str, language: str) -> tuple[str, str, Side, bool]:
    """Read a limit's words as a cook does: number, unit, side, and whether the number is good."""
    found = _NUMBER.search(text)
    assert found, text
    return found[1], found[2], *SIDES[language][text.replace(found[0], "{n}")]


def every_limit() -> Iterator[Limit]:
    for name, revisions in limits.revisions().items():
        for revision in revisions:
            yield from limits.shipped(f"{name}.{revision}").limits


def levels(limit: Limit) -> Iterator[Level]:
    yield from (row.level for row in limit.rows)
    if limit.start:
        yield limit.start


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("degree", Degree)
def test_a_limits_words_are_the_limit(language: str, degree: Degree) -> None:
    read = 0
    with read_in(catalog_of(language)):
        for limit in every_limit():
            for level in levels(limit):
                number = str(level.number(degree))
                expected = number, str(degree), limit.side, limit.inclusive
                assert understood(target(limit, degree, level), language) == expected
                read += 1
    assert read > 100


# A number in a sentence: a place that one is filled into, or one that is written out.
_N = r"(\{[a-z_]+\}|-?[0-9]+(?:\.[0-9]+)? °[FC])"
# One in a sentence that was told: degrees, or a time.
_TOLD = r"(-?[0-9]+(?:\.[0-9]+)? °[FC]|(?:[0-9]+ h )?[0-9]+ min)"
SAID = {
    "en": {
        r"#N or (?:above|more)|at (?:or above|least) #N": (Side.AT_OR_ABOVE, True),
        r"(?<!or )above #N|(?:longer|more) than #N": (Side.AT_OR_ABOVE, False),
        r"#N or below|at (?:or below|most) #N": (Side.AT_OR_BELOW, True),
        r"(?<!or )below #N": (Side.AT_OR_BELOW, False),
    },
    "es": {
        r"#N o más|como mínimo #N": (Side.AT_OR_ABOVE, True),
        r"más de #N": (Side.AT_OR_ABOVE, False),
        r"#N o menos|como máximo #N": (Side.AT_OR_BELOW, True),
        r"menos de #N": (Side.AT_OR_BELOW, False),
    },
}


def sides(text: str, language: str, number: str = _N) -> set[tuple[str, Side, bool]]:
    """Find each number of a sentence that has a side, and which."""
    return {
        (next(filter(None, found.groups())), *side)
        for pattern, side in SAID[language].items()
        for found in re.finditer(pattern.replace("#N", number), text)
    }


@pytest.mark.parametrize("language", OTHERS)
def test_a_sentence_has_its_numbers_on_the_same_side(language: str) -> None:
    read = 0
    for english, one in messages(language):
        expected = sides(english[-1], "en")
        assert sides(catalog.forms(one.string)[-1], language) == expected, one.id
        read += len(expected)
    assert read >= 10


def test_a_side_that_was_turned_around_would_be_found() -> None:
    assert sides("Keep it at 41 °F or below.", "en") == sides("Manténgalo a 41 °F o menos.", "es")
    assert sides("Keep it at 41 °F or below.", "en") != sides("Manténgalo a 41 °F o más.", "es")
    assert sides("Hold it at {hot} or above.", "en") != sides("Manténgalo a menos de {hot}.", "es")
    assert sides("It was above 41 °F.", "en") != sides("Estuvo a 45 °F o más.", "es")


@pytest.mark.parametrize("language", OTHERS)
def test_a_sentence_has_the_same_numbers_written_out(language: str) -> None:
    for english, one in messages(language):
        numbers = [re.findall(r"[0-9]+(?:[.,:-][0-9]+)*(?: °[FC])?", text) for text in
                   (english[-1], catalog.forms(one.string)[-1])]  # fmt: skip
        assert sorted(numbers[0]) == sorted(numbers[1]), one.id


# --- what is found, as it is told in each language, against the limit that it was found by

NOW = datetime(2026, 10, 26, 20, 5, tzinfo=UTC)
SHORTEST, LONGEST_TIME = timedelta(minutes=61), timedelta(minutes=187)
# What is told by these names what the food, or the oven, had to be.
NAME_THE_LIMIT = (
    Reason.IN_LIMITS,
    Reason.OUT_OF_LIMITS,
    Reason.TOO_COOL,
    Reason.HOLD_NOT_SHOWN,
    Reason.TOO_WARM_IN_TIME,
    Reason.NOT_WATCHED,
    Reason.NOT_HEATED,
)


def distinct_limits() -> list[Limit]:
    """Give each combination of levels, side and start once, of those that ask a temperature."""
    found = {
        (one.name == "oven", one.side, one.inclusive, one.rows, one.start): one
        for one in every_limit()
        if one.rows
    }
    return list(found.values())


def findings(limit: Limit, degree: Degree) -> Iterator[Finding]:
    """Make up a finding of each reason and step; the Code's own text, in English, is left out."""
    limit = replace(limit, text="(text)", within=limit.within or timedelta(hours=4))
    taken = [
        Reading(
            at=NOW - timedelta(minutes=ago),
            temperature=Temperature(Decimal(value), degree),
            step=Step.COLD_HOLD,
            ref=str(ago),
            chamber=Temperature(Decimal(value), degree),
            thermometer="T1",
        )
        for ago, value in ((187, 44), (61, 43))
    ]
    spell_of_time = Bounds(taken[0].at, taken[1].at)
    for reason, step, some in product(Reason, Step, (taken, taken[:1])):
        yield Finding(
            step=step,
            limit=limit,
            verdict=Verdict.OPEN,
            reason=reason,
            readings=tuple(some),
            start=spell_of_time,
            crossing=spell_of_time,
            shortest=SHORTEST,
            longest=LONGEST_TIME,
            due=NOW,
            since=NOW,
            row=limit.rows[0],
        )


def allowed(limit: Limit, degree: Degree) -> set[tuple[str, Side, bool]]:
    """Give every number that may be told with a side, and the one side that it has."""
    told = {
        (f"{level.number(degree)} °{degree}", limit.side, limit.inclusive)
        for level in levels(limit)
    }
    if limit.start:  # what begins to cool was at it or above
        told.add((f"{limit.start.number(degree)} °{degree}", Side.AT_OR_ABOVE, True))
    return told | {
        (spell(SHORTEST), Side.AT_OR_ABOVE, True),
        (spell(LONGEST_TIME), Side.AT_OR_BELOW, True),
    }


def told_in(language: str, finding: Finding) -> list[str]:
    """Tell all that is said of a finding: why, what is asked for, and what a cook is told."""
    with read_in(catalog_of(language)):
        return [tell(finding, lambda at: clock(at, DENVER)) for tell in (explain, goal, why)]


@pytest.mark.parametrize("degree", Degree)
def test_what_is_found_is_told_on_the_limits_side_in_both_languages(degree: Degree) -> None:
    read = 0
    for limit in distinct_limits():
        known = allowed(limit, degree)
        asked = {
            (f"{row.level.number(degree)} °{degree}", limit.side, limit.inclusive)
            for row in limit.rows
        }
        for finding in findings(limit, degree):
            english, spanish = (told_in(language, finding) for language in ("en", "es"))
            for in_english, in_spanish in zip(english, spanish, strict=True):
                found = sides(in_english, "en", _TOLD)
                assert sides(in_spanish, "es", _TOLD) == found <= known, in_spanish
                numbers = [sorted(_NUMBER.findall(text)) for text in (in_english, in_spanish)]
                assert numbers[0] == numbers[1], in_spanish
                read += len(found)
            if finding.reason in NAME_THE_LIMIT:
                assert sides(english[0], "en", _TOLD) & asked, english[0]
    assert read > 10_000


# --- moments and lists

CASES = [
    # on the clock; at, by, known by, after a word such as "from"
    ("14:05", "a las 14:05", "a más tardar a las 14:05", "ya a las 14:05", "las 14:05"),
    ("01:05", "a la 01:05", "a más tardar a la 01:05", "ya a la 01:05", "la 01:05"),
    ("00:30", "a las 00:30", "a más tardar a las 00:30", "ya a las 00:30", "las 00:30"),
    ("13:00", "a las 13:00", "a más tardar a las 13:00", "ya a las 13:00", "las 13:00"),
]
KINDS = (phrases.at, phrases.by, phrases.already, phrases.with_article)


@pytest.mark.parametrize("told", CASES)
def test_a_time_has_the_article_of_its_hour(told: tuple[str, ...]) -> None:
    moment = datetime.fromisoformat(f"2026-10-26T{told[0]}-06:00")
    with read_in(catalog_of("es")):
        shown = clock(moment, DENVER)
        assert (shown, *(kind(shown) for kind in KINDS)) == told
    assert [kind(clock(moment, DENVER)) for kind in KINDS] == [
        f"at {told[0]}",
        f"by {told[0]}",
        f"by {told[0]}",
        told[0],
    ]


def test_a_time_on_another_day_has_the_days_article() -> None:
    moment = datetime(2026, 11, 1, 21, 5, tzinfo=UTC)
    later = moment + timedelta(days=1)
    english = day_and_clock(moment, later, DENVER)
    assert [kind(english) for kind in KINDS] == [
        "at Sun 1 Nov 14:05",
        "by Sun 1 Nov 14:05",
        "by Sun 1 Nov 14:05",
        "Sun 1 Nov 14:05",
    ]
    with read_in(catalog_of("es")):
        shown = day_and_clock(moment, later, DENVER)
        assert shown == "dom 1 nov 14:05"
        assert [kind(shown) for kind in KINDS] == [
            "el dom 1 nov a las 14:05",
            "a más tardar el dom 1 nov a las 14:05",
            "ya el dom 1 nov a las 14:05",
            "el dom 1 nov a las 14:05",
        ]


def test_what_is_no_time_of_day_has_no_article() -> None:
    with read_in(catalog_of("es")):
        assert phrases.by("minute 90") == "a más tardar en minute 90"
    assert [kind("minute 90") for kind in KINDS] == [
        "at minute 90",
        *["by minute 90"] * 2,
        "minute 90",
    ]


def test_days_and_months_are_named_in_the_readers_language() -> None:
    days = [date(2026, month, month + 1) for month in range(1, 13)]
    assert [short_day(day) for day in days] == [f"{day:%a} {day.day} {day:%b}" for day in days]
    with read_in(catalog_of("es")):
        assert short_day(date(2026, 3, 3)) == "mar 3 mar"
        assert dated(date(2026, 11, 1)) == "dom 1 nov 2026"
        week = [short_day(date(2026, 11, day)).split()[0] for day in range(2, 9)]
        assert week == "lun mar mié jue vie sáb dom".split()
        months = "ene feb mar abr may jun jul ago sep oct nov dic".split()
        assert [short_day(day).split()[-1] for day in days] == months


def test_the_last_of_a_list_has_the_word_that_its_sound_asks() -> None:
    assert all_of(["soup", "liver", "ice"]) == "soup, liver and ice"
    assert any_of(["7", "8"]) == "7 or 8"
    assert all_of([]) == any_of([]) == ""
    with read_in(catalog_of("es")):
        assert all_of(["caldo", "sopa", "hígado"]) == "caldo, sopa e hígado"
        assert all_of(["agua", "hielo"]) == "agua y hielo"
        assert all_of(["arroz"]) == "arroz"
        assert any_of(["7", "8"]) == "7 u 8"
        assert any_of(["pavo", "hongos"]) == "pavo u hongos"
        assert any_of(["10", "110"]) == "10 o 110"


# --- what a translation must never say: each was read in a published text, or reads wrongly

NEVER = {
    r"\ben o sobre\b": "turns the side of a limit around",
    r"\bantes de (?:las? [{0-9]|\{(?:at|by|due|time|until)\})": "leaves the minute itself out",
    r"\b(?:de|a) el\b": "is one word",
    r"[0-9}] ?º": "is no degree sign",
    r"\b(?:d|D)eshac": "also means to throw away",
    r"\b(?:d|D)escart": "means to rule out",
    r"\brécord\b|\bincumplid|\bveredicto\b|\bchequeo\b|\bsarten": "is another thing",
    r"\b(?:puedes|debes|tienes|quieres|tu|tus|vos)\b": "is said to a friend",
    r"\{(?:day|time|at)\} \{(?:its_)?time\}": "puts a time together",
    r"\ba las? \{": "writes the article itself",
}


def test_no_translation_says_what_it_must_never_say() -> None:
    for _, one in messages("es"):
        for told in catalog.forms(one.string):
            wrong = [why for pattern, why in NEVER.items() if re.search(pattern, told)]
            assert not wrong, f"{told}: {wrong}"


# --- whose language it is


@pytest.mark.parametrize(
    ("environment", "language"),
    [
        ({}, "en"),
        ({"LANG": "es_US.UTF-8"}, "es"),
        ({"LANG": "es_MX"}, "es"),
        ({"LANG": "es"}, "es"),
        ({"LANG": "es.UTF-8"}, "es"),
        ({"LANG": "es_US.UTF-8", "LC_ALL": "C"}, "en"),
        ({"LANG": "en_US.UTF-8", "LC_MESSAGES": "es_US.UTF-8"}, "es"),
        ({"LANG": "es_US.UTF-8", "LC_ALL": ""}, "es"),
        ({"LANG": "fr_CA.UTF-8"}, "en"),
        ({"LANG": "est"}, "en"),
    ],
)
def test_the_environment_says_which_language(environment: dict[str, str], language: str) -> None:
    assert spoken_by(environment) == language


def test_what_is_told_inside_another_language_ends_with_it() -> None:
    with read_in(catalog_of("es")):
        assert phrase("MET") == "CUMPLE"
        with read_in(catalog_of("en")):
            assert phrase("MET") == "MET"
        assert phrase("MET") == "CUMPLE"
    assert phrase("MET") == "MET"

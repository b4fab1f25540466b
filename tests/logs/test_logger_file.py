"""A logger's file gives back exactly the series that was written, or a question; never another."""

import random
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.logs.apart import Apart
from haccp.logs.logged_series import Said, Series, series_of
from haccp.logs.logger_file import Unsettled, roles_of, table_of
from haccp.logs.sheet import sheet_of
from tests.logs.dialects import DENVER, Dialect, Truth, steady, written

NOW = datetime(2026, 11, 20, 18, 0, tzinfo=UTC)

Read = dict[str, list[tuple[datetime, Decimal]]]


def series(content: bytes, said: Said = Said(), **roles: str) -> tuple[list[Series], Apart]:  # noqa: B008
    table = table_of(sheet_of(content))
    found = roles_of(table, (), roles.get("probe", ""))
    return series_of(table, found, said, DENVER, NOW, table.apart), table.apart


def read(content: bytes, said: Said = Said(), **roles: str) -> Read:  # noqa: B008
    return {
        one.probe: [
            (datetime.fromtimestamp(at, UTC), Decimal(temp))
            for at, temp in zip(one.moments, one.temperatures, strict=True)
        ]
        for one in series(content, said, **roles)[0]
    }


def true(truth: Truth) -> Read:
    return {
        probe: [(at.astimezone(UTC), Decimal(temp)) for at, temp in each]
        for probe, each in truth.items()
    }


DIALECTS = st.builds(
    Dialect,
    delimiter=st.sampled_from(",;\t|"),
    decimal=st.sampled_from(".,"),
    order=st.sampled_from(["ymd", "dmy", "mdy"]),
    sign=st.sampled_from("-/."),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]),
    preamble=st.booleans(),
    head=st.booleans(),
    degree=st.sampled_from(["name", "cell", "nowhere"]),
    parted=st.booleans(),
    half_days=st.booleans(),
    zone=st.sampled_from(["", "Z", "offset"]),
    long=st.booleans(),
    counter=st.booleans(),
    footer=st.booleans(),
    faults=st.booleans(),
    newest_first=st.booleans(),
    short_year=st.booleans(),
)
BEGINS = st.datetimes(datetime(2025, 1, 1), datetime(2026, 11, 10)).map(  # noqa: DTZ001
    lambda at: at.replace(microsecond=0, tzinfo=UTC)
)


@settings(deadline=None)
@given(
    how=DIALECTS,
    begins=BEGINS,
    degree=st.sampled_from("FC"),
    probes=st.integers(1, 3),
    count=st.integers(1, 70),
    minutes=st.sampled_from([1, 7, 30, 300]),
    places=st.integers(0, 2),
    seed=st.integers(0, 10_000),
)
def test_a_series_in_any_dialect_comes_back_or_is_asked_about(
    how: Dialect, begins: datetime, degree: str, probes: int, count: int, minutes: int,
    places: int, seed: int,
) -> None:  # fmt: skip
    rng = random.Random(seed)
    truth = {
        f"Probe {name}": steady(
            begins, [f"{rng.uniform(-20, 90):.{places}f}" for _ in range(count)], minutes
        )
        for name in range(1, probes + 1)
    }
    _comes_back_or_is_asked(truth, degree, how)


def _comes_back_or_is_asked(truth: Truth, degree: str, how: Dialect) -> None:
    content = written(truth, degree, how)
    said = Said()
    probe = ""
    for _ in range(5):
        try:
            found = read(content, said, probe=probe)
        except Unsettled as question:
            # whatever is asked is answered as it was written, if it can be
            match question.option:
                case "degree":
                    said = said._replace(degree=degree)
                case "date-order":
                    if how.order not in question.choices:
                        pytest.fail(f"{how.order} is not asked about: {question}")
                    said = said._replace(date_order=how.order)
                case "probe-column":
                    probe = next(one for one in question.choices if one != "none")
                case _:
                    return
        except Refused:
            return
        else:
            wanted = true(truth)
            if not how.head:  # then a probe may be called by its column
                assert sorted(found.values()) == sorted(wanted.values())
            else:
                assert found == wanted
            return
    pytest.fail("the same was asked again and again")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("preamble", [False, True])
@pytest.mark.parametrize("long", [False, True])
def test_a_file_that_says_all_is_read_without_a_question(
    delimiter: str, decimal: str, encoding: str, preamble: bool, long: bool
) -> None:
    begins = datetime(2026, 10, 20, 9, 30, tzinfo=UTC)
    truth = {
        "Probe 1": steady(begins, ["38.5", "39.0", "-2.5", "150.0"]),
        "Probe 2": steady(begins, ["140.1", "139.0", "138.25", "135.0"]),
    }
    how = Dialect(
        delimiter=delimiter, decimal=decimal, encoding=encoding, preamble=preamble, long=long,
        order="dmy", sign=".", counter=True, footer=True, faults=True,
    )  # fmt: skip
    assert read(written(truth, "F", how)) == true(truth)


def test_lines_that_are_no_reading_are_named_with_why() -> None:
    content = (
        b"When;Probe 1 (\xb0F);Probe 2 (\xb0F)\n"
        b"2026-10-20 14:00;38,5;40\n"
        b"\n"
        b"2026-10-20 14:05;Error;41\n"
        b"2026-10-20 14:10;---;2000\n"
        b"2026-10-20 14:15;38,7\n"
        b"2026-10-20 14:00;39,9;40\n"
        b"Average;38,6;41\n"
    )
    found, apart = series(content)
    # of two values at one moment nobody knows which is true: neither is taken
    assert [[*one.temperatures] for one in found] == [["40", "41"]]
    assert [*apart.told()] == [
        "Line 3 is left out: blank.",
        "Line 6 is left out: it has 2 cells where the table has 3.",
        "Line 8 is left out: 'Average' is no moment.",
        "Line 4 is left out: Probe 1: 'Error' is no temperature.",
        "Line 5 is left out: Probe 1: '---' is no temperature.",
        "Line 2 is left out: Probe 1: line 7 has another value at that moment.",
        "Line 7 is left out: Probe 1: line 2 has another value at that moment.",
        "Line 5 is left out: Probe 2: no food is at 2000 °F.",
        "Line 7 is left out: Probe 2: line 2 says the same.",
    ]


def asked(content: str, said: Said = Said()) -> str:  # noqa: B008
    with pytest.raises(Unsettled) as question:
        read(content.encode(), said)
    return question.value.option


def test_day_and_month_are_told_apart_by_all_values_or_asked() -> None:
    head = "When,Temp F\n"
    unclear = "".join(f"03/04/2026 {hour:02}:00,38\n" for hour in range(9))
    assert asked(head + unclear) == "date-order"
    # one day at the end of thousands of lines settles it
    assert read((head + unclear + "13/04/2026 10:00,38\n").encode())["Temp"][0][0].month == 4
    assert read((head + unclear + "04/13/2026 10:00,38\n").encode())["Temp"][0][0].month == 3
    with pytest.raises(Refused, match="In no order"):
        read((head + "13/04/2026 10:00,38\n04/13/2026 10:00,38\n").encode())


def test_a_day_to_come_settles_the_order() -> None:
    found = read(b"When,Temp F\n05/12/2026 10:00,38\n")  # no 5 December yet: 12 May
    assert found["Temp"][0][0].astimezone(DENVER).date().isoformat() == "2026-05-12"


def test_a_degree_is_read_where_it_stands_and_never_guessed() -> None:
    for head in ("When,Temp", "When,Probe C", "When,Probe (A),Probe (C)"):
        rows = "2026-10-20 09:00,38" + ",39" * (head.count(",") - 1)
        assert asked(f"{head}\n{rows}\n") == "degree"
    for head in ("Temp °C", "Temp [C]", "Temp (C)", "temp_C", "Celsius probe", "Temp deg C"):
        ((one,), _) = series(f"When,{head}\n2026-10-20 09:00,8\n".encode())
        assert one.degree == "C", head
    ((one,), _) = series(b"When,Temp,Unit\n2026-10-20 09:00,8,C\n2026-10-20 09:05,8,C\n")
    assert one.degree == "C"
    ((one,), _) = series("When;Temp;RH\n;°C;%\n2026-10-20 09:00;8;50\n".encode())
    assert (one.degree, one.probe) == ("C", "Temp")


@pytest.mark.parametrize(
    "content",
    [
        "When,Temp\n2026-10-20 09:00,38 °F\n2026-10-20 09:05,3.3 °C\n",
        "When,Temp °F\n2026-10-20 09:00,38\n2026-10-20 09:05,3.3 °C\n",
        "When,Temp °F,Unit\n2026-10-20 09:00,3.3,C\n2026-10-20 09:05,3.3,C\n",
        "When,Temp,Unit\n2026-10-20 09:00,38,F\n2026-10-20 09:05,3.3,C\n",
    ],
)
@pytest.mark.parametrize("degree", ["", "F", "C"])
def test_no_answer_makes_two_degrees_one(content: str, degree: str) -> None:
    with pytest.raises(Refused, match="°F in some lines and °C in others"):
        read(content.encode(), Said(degree=degree))


def test_of_days_the_wrong_one_is_named() -> None:
    content = "When,Temp F\n2026-10-20 09:00,38\n2027-10-20 09:00,38\n"
    with pytest.raises(Refused, match="'2027-10-20', for one"):
        read(content.encode())


def test_the_hour_that_comes_twice_is_told_by_the_order_of_the_lines_or_asked() -> None:
    local = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    lines = "".join(f"2026-11-01 {clock},{40 + k}\n" for k, clock in enumerate(local))
    begins = datetime(2026, 11, 1, 6, 30, tzinfo=UTC)
    wanted = [begins + timedelta(minutes=30 * k) for k in range(6)]
    head = "When,Temp F\n"
    assert [at for at, _ in read((head + lines).encode())["Temp"]] == wanted
    backwards = "".join(reversed(lines.splitlines(keepends=True)))
    assert [at for at, _ in read((head + backwards).encode())["Temp"]] == wanted
    once = head + "2026-11-01 00:30,40\n2026-11-01 01:00,41\n2026-11-01 02:00,42\n"
    assert asked(once) == "repeated-hour"
    second = read(once.encode(), Said(repeated_hour="second"))["Temp"]
    assert second[1][0] == datetime(2026, 11, 1, 8, 0, tzinfo=UTC)
    # a clock that nobody puts forward says that it is not the kitchen's
    assert asked(head + "2026-03-08 01:30,40\n2026-03-08 02:30,41\n") == "zone"


def test_two_readings_of_one_line_are_never_made_of_a_decimal_comma() -> None:
    assert asked("2026-10-20 09:00,38,5\n2026-10-20 09:05,39,1\n") == "temperature"
    with pytest.raises(Refused, match="point or a comma"):
        read(b"When;Temp F\n2026-10-20 09:00;38,5\n2026-10-20 09:05;38.7\n")


def test_which_columns_are_temperatures_is_asked_where_names_do_not_say() -> None:
    assert asked("When,Temp °C,Thing\n2026-10-20 09:00,8,70\n") == "temperature"
    assert read(b"When,Temp (F),RH %,Battery V\n2026-10-20 09:00,38,70,3.1\n").keys() == {"Temp"}
    assert (
        asked("When,Temp F,Mark\n2026-10-20 09:00,38,a\n2026-10-20 09:05,38,b\n") == "probe-column"
    )


def test_a_clock_that_begins_anew_at_noon_is_not_taken_for_the_morning() -> None:
    lines = "".join(f"2026-10-20 {hour:02}:30,{40 + hour}\n" for hour in (11, 12, 1, 2))
    with pytest.raises(Refused, match="do not say AM or PM"):
        read(b"When,Temp F\n" + lines.encode())
    # with its offset from UTC an hour is one of twenty-four
    assert len(read(b"When,Temp F\n" + lines.replace(":30,", ":30Z,").encode())["Temp"]) == 4


def test_two_columns_of_one_name_are_two_probes_or_none() -> None:
    found = read(b"When,Temp (F),Temp (C)\n2026-10-20 09:00,50,10\n")
    assert found.keys() == {"Temp (F)", "Temp (C)"}
    with pytest.raises(Refused, match="Several columns are called"):
        read(b"When,Temp (F),Temp (F)\n2026-10-20 09:00,50,51\n")


def test_lines_of_a_smaller_table_before_the_larger_are_named() -> None:
    first = "2026-10-19 09:00,38\n2026-10-19 09:05,39\n"
    second = "".join(f"2026-10-20 09:0{k},38,{40 + k}\n" for k in range(5))
    _, apart = series((first + "When,Left (F),Right (F)\n" + second).encode())
    told = ["Lines 1-2 are left out: it has 2 cells where the table has 3."]
    assert [*apart.told()] == told


def test_moments_to_come_are_refused() -> None:
    with pytest.raises(Refused, match="still to come"):
        read(b"When,Temp F\n2026-11-20 17:00:00,38\n")
    assert read(b"When,Temp F\n2026-11-20 17:00:00Z,38\n")


def test_seconds_since_1970_are_a_moment() -> None:
    found = read(b"timestamp,temperature (F)\n1790000000,38\n1790000300000,39\n")
    at = datetime.fromtimestamp(1790000000, UTC)
    assert [one for one, _ in found["temperature"]] == [at, at + timedelta(minutes=5)]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"When,Temp F\n", "No line of the file has a moment"),
        (b"\x00\x01\x02\xff" * 500, "no text"),
        (bytes(range(256)) * 20, "no text"),
        (b"When,Temp F\n2026-10-20 09:00,\x0038\n", "no text"),
        (b"PK\x03\x04" + b"\x00" * 100, "workbook cannot be read"),
        (b'When,"Temp F\n' + b"x" * 10_000_000, "no line of a table"),
        (
            b'When,Temp F\n2026-10-20 09:00,38\n2026-10-20 09:05,"39\n2026-10-20 09:10,40\n',
            "mark in line 3",
        ),
        (b"When,Temp F\n=NOW(),=1+1\n", "No line of the file has a moment"),
        (b"a,b\n" * 3000, "No line of the file has a moment"),
    ],
)
def test_what_is_no_log_is_refused_in_a_sentence(content: bytes, words: str) -> None:
    with pytest.raises(Refused, match=words):
        read(content)


def test_a_formula_is_no_temperature() -> None:
    found, apart = series(b"When,Temp F\n2026-10-20 09:00,38\n2026-10-20 09:05,=1+37\n")
    assert [*found[0].temperatures] == ["38"]
    assert [*apart.told()] == ["Line 3 is left out: Temp: '=1+37' is no temperature."]

"""Limits files: read strictly, refused with the line to mend. The limits here are invented."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.limits import CountsFrom, LimitSet, Side, decoded, load_overrides, parse_set, shipped
from tests.local_codes import COLD_AT_45

HEAD = """\
[set]
id = "invented"
revision = 3
title = "An invented code"
publisher = "An invented office"
"""

HOLDING = """\
[[limit]]
name = "hot-holding"
side = "at or above"
inclusive = true
f = 140
c = 60
citation = "1.1"
source = "an invented code, for a test"
basis = "verified"
text = "Hold hot at 140 °F (60 °C) or above."
"""

COOLING = """\
[[limit]]
name = "cooling-stage-1"
side = "at or below"
inclusive = true
f = 69.8
c = 21
start_f = 140
start_c = 60
within_min = 90
clock = "start"
citation = "1.2"
source = "an invented code, for a test"
basis = "from memory"
text = "Cool from 140 °F (60 °C) to 21 °C within 90 minutes."
"""

WHOLE = f"{HEAD}\n{HOLDING}\n{COOLING}"
HOLDING_LINE, COOLING_LINE = 7, 18


def refusal(text: str) -> str:
    with pytest.raises(Refused) as refused:
        parse_set(text, "local.toml")
    return str(refused.value)


def test_the_file_of_these_tests_is_read() -> None:
    limits = parse_set(WHOLE, "local.toml")
    assert (limits.id, limits.revision, limits.title) == ("invented", 3, "An invented code")
    holding, cooling = limits.limits
    assert holding.side is Side.AT_OR_ABOVE
    assert (holding.within, holding.clock, holding.start) == (None, None, None)
    assert cooling.level.f == Decimal("69.8")
    assert cooling.clock is CountsFrom.START
    assert cooling.basis == "from memory"
    assert WHOLE.splitlines()[HOLDING_LINE - 1] == "[[limit]]"
    assert WHOLE.splitlines()[COOLING_LINE - 1] == "[[limit]]"


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ('citation = "1.2"\n', "", "needs citation"),
        ('citation = "1.2"', 'citation = ""', "needs citation"),
        ('source = "an invented code, for a test"\nbasis = "from', 'basis = "from', "needs source"),
        ('name = "cooling-stage-1"\n', "", "needs name"),
        ('text = "Cool', 'wording = "Cool', "'wording', which is not known"),
        ("within_min = 90", "within_minutes = 90", "'within_minutes', which is not known"),
        ("within_min = 90", 'within_min = "90"', "within_min cannot be '90'"),
        ("within_min = 90", "within_min = true", "within_min cannot be True"),
        ("within_min = 90", "within_min = 90.5", "within_min cannot be"),
        ("within_min = 90", "within_min = 0", "within_min is above 0"),
        ("within_min = 90", "within_min = -90", "within_min is above 0"),
        ("within_min = 90\n", "", "within_min and clock go together"),
        ('clock = "start"\n', "", "within_min and clock go together"),
        ('clock = "start"', 'clock = "begin"', "clock is 'start', 'previous stage', 'preparation'"),
        ("f = 69.8", "f = true", "f cannot be True"),
        ("f = 69.8", 'f = "69.8"', "f cannot be '69.8'"),
        ("f = 69.8\n", "", "both degrees"),
        ("\nc = 21", "", "both degrees"),
        ("f = 69.8", "f = nan", ""),
        ("f = 69.8", "f = inf", ""),
        ("start_c = 60\n", "", "start_f and start_c"),
        ("start_f = 140\n", "", "start_f and start_c"),
        ('side = "at or below"', 'side = "below"', "side is 'at or above' or 'at or below'"),
        ('side = "at or below"\ninclusive = true', 'side = "at or below"\ninclusive = 1', "inclusive cannot be 1"),
        ('basis = "from memory"', 'basis = "hearsay"', "basis is 'verified', 'from memory' or 'common practice'"),
        ('name = "cooling-stage-1"', 'name = "hot-holding"', "cannot be counted from 'start'"),
        ("f = 69.8\nc = 21", "f = 69.8\nc = 21\nhold_s = -1", "0 seconds or more"),
        ("f = 69.8\nc = 21", "f = 69.8\nc = 21\nrows = [[70, 21, 0]]", "either f and c, or rows"),
        ("f = 69.8\nc = 21", "rows = [[70, 21]]", "each of rows"),
        ("f = 69.8\nc = 21", "rows = [70, 21, 0]", "each of rows"),
        ("f = 69.8\nc = 21", "rows = [[70, 21, true]]", ""),
        ("f = 69.8\nc = 21", "rows = [[70, 21, 9], [65, 18, 99]]", "rise in temperature"),
        ("f = 69.8\nc = 21", "rows = []", ""),
        ("f = 69.8\nc = 21", "rows = [[70, 21, 0]]\nhold_s = 15", ""),
    ],
)  # fmt: skip
def test_a_malformed_entry_is_refused_with_its_line(old: str, new: str, complaint: str) -> None:
    assert COOLING.count(old) == 1
    text = f"{HEAD}\n{HOLDING}\n{COOLING.replace(old, new)}"
    sentence = refusal(text)
    assert sentence.startswith(f"local.toml, line {COOLING_LINE}:")
    assert complaint in sentence


def test_seconds_are_not_cut_to_whole_ones() -> None:
    """15.9 s read as 15 would be a weaker limit than the file says: refuse it or keep it."""
    rows = "rows = [[145, 63, 15.9]]"
    text = WHOLE.replace("f = 140\nc = 60\ncit", f"{rows}\ncit")
    try:
        limits = parse_set(text, "local.toml")
    except Refused:
        return
    assert limits.get("hot-holding").rows[0].hold.total_seconds() >= 15.9


@pytest.mark.parametrize("key", ["hold_s", "within_min"])
def test_a_time_beyond_all_sense_is_refused(key: str) -> None:
    huge = 10**18
    text = (
        WHOLE.replace("within_min = 90", f"within_min = {huge}")
        if key == "within_min"
        else WHOLE.replace("f = 140\nc = 60\ncit", f"f = 140\nc = 60\nhold_s = {huge}\ncit")
    )
    assert str(huge) in text
    assert "local.toml, line" in refusal(text)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("start_f = 140\nstart_c = 60\n", ""),
        ('within_min = 90\nclock = "start"\n', ""),
    ],
)
def test_a_cooling_that_could_not_be_judged_is_refused_when_it_is_read(old: str, new: str) -> None:
    """Without a start or a time there is nothing to compare readings with."""
    assert COOLING.count(old) == 1
    assert "cooling-stage-1" in refusal(WHOLE.replace(COOLING, COOLING.replace(old, new)))


def test_a_line_is_counted_past_comments_and_blank_lines() -> None:
    text = f"# a comment\n\n{HEAD}\n\n# another\n{HOLDING}\n{COOLING.replace('c = 21', '')}"
    wanted = [n for n, line in enumerate(text.splitlines(), 1) if line == "[[limit]]"][1]
    assert f"line {wanted}:" in refusal(text)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "no [set]"),
        (HOLDING, "no [set]"),
        ("set = 1", "no [set]"),
        (HEAD, "no [[limit]]"),
        (f"limit = []\n{HEAD}", "no [[limit]]"),
        (WHOLE.replace('id = "invented"\n', ""), "[set] needs id"),
        (WHOLE.replace("revision = 3", 'revision = "3"'), "[set] needs revision"),
        (WHOLE.replace("revision = 3", "revision = true"), "[set] needs revision"),
        (f"{WHOLE}\n[extra]\nx = 1\n", "'extra' is not known"),
    ],
)
def test_a_file_that_is_no_limit_set_is_refused(text: str, complaint: str) -> None:
    sentence = refusal(text)
    assert sentence.startswith("local.toml")
    assert complaint in sentence


@pytest.mark.parametrize("entry", ["limit = 1", "limit = [1, 2]", "limit = 'x'", "limit = [[1]]"])
def test_a_limit_that_is_no_table_is_refused(entry: str) -> None:
    assert "local.toml" in refusal(f"{entry}\n{HEAD}")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (f"{HEAD}[[limit]\n", 6),
        (f"{HEAD}id = \n", 6),
    ],
)
def test_bad_toml_is_refused_with_its_line(text: str, line: int) -> None:
    sentence = refusal(text)
    assert sentence.startswith("local.toml is not a limits file")
    assert f"line {line}" in sentence


def test_bytes_that_are_no_utf_8_are_refused_with_their_line() -> None:
    with pytest.raises(Refused, match="line 2: the file is not UTF-8"):
        decoded(b"[set]\nid = '\xff'\n", "local.toml")
    assert decoded(b"\xef\xbb\xbf[set]", "local.toml") == "[set]"


@pytest.mark.parametrize("name", ["no-such-set", "../pyproject", "", "food-code-2022.toml", "a/b"])
def test_an_unknown_set_is_refused_with_the_one_there_is(name: str) -> None:
    with pytest.raises(Refused, match="food-code-2022"):
        shipped(name)


# Overrides


def overridden(text: str) -> LimitSet:
    return load_overrides(shipped(), text, "local.toml")


def test_an_override_replaces_a_whole_entry_with_its_own_source() -> None:
    limits = overridden(COLD_AT_45)
    cold = limits.get("cold-holding")
    assert (cold.level.f, cold.level.c) == (Decimal(45), Decimal(7))
    assert (cold.citation, cold.source) == ("9.9", "an invented local code")
    assert limits.overrides == (cold,)
    others = {limit for limit in limits.limits if limit.name != "cold-holding"}
    assert others == {limit for limit in shipped().limits if limit.name != "cold-holding"}


def test_nothing_of_the_replaced_entry_is_left_in_an_override() -> None:
    """The Food Code's reheat has 15 s and 2 h; an override without them has neither."""
    text = COLD_AT_45.replace("cold-holding", "reheat").replace("at or below", "at or above")
    reheat = overridden(text).get("reheat")
    assert (reheat.within, reheat.clock, reheat.start) == (None, None, None)
    assert [row.hold.total_seconds() for row in reheat.rows] == [0]


def test_an_override_of_one_kind_of_food_leaves_the_others() -> None:
    text = COLD_AT_45.replace('"cold-holding"', '"hot-holding"\nkind = "whole roast"')
    text = text.replace("at or below", "at or above")
    text = text.replace("at or below", "at or above")
    limits = overridden(text)
    assert limits.get("hot-holding", "whole roast").level.f == 45
    assert limits.get("hot-holding").level.f == 135


def test_an_override_of_an_unknown_limit_is_refused_with_the_known_names() -> None:
    with pytest.raises(Refused) as refused:
        overridden(f"{COLD_AT_45}\n{COLD_AT_45.replace('cold-holding', 'cold-holdings')}")
    sentence = str(refused.value)
    assert sentence.startswith("local.toml, line 12:")
    assert "'cold-holdings'" in sentence
    for name in ("cold-holding", "cooling-stage-1", "cooling-stage-2", "hot-holding", "reheat"):
        assert name in sentence


def test_an_override_that_turns_a_limit_to_its_other_side_is_refused() -> None:
    """By such a slip milk at 60 °F would be met."""
    with pytest.raises(Refused, match="side"):
        overridden(COLD_AT_45.replace("at or below", "at or above"))


def test_an_override_for_an_unknown_kind_of_food_is_refused() -> None:
    with pytest.raises(Refused, match="no limit 'cold-holding' for soup"):
        overridden(COLD_AT_45.replace('"cold-holding"', '"cold-holding"\nkind = "soup"'))


def test_an_override_given_twice_is_refused() -> None:
    with pytest.raises(Refused, match=r"line 12: 'cold-holding' stands here a second time"):
        overridden(f"{COLD_AT_45}\n{COLD_AT_45}")


def test_a_base_set_is_not_changed_by_what_is_laid_over_it() -> None:
    base = shipped()
    before = base.digest
    load_overrides(base, COLD_AT_45, "local.toml")
    assert (base.digest, base.overrides) == (before, ())
    assert base.get("cold-holding").level.f == 41


# The digest


def digest(text: str) -> str:
    return parse_set(text, "local.toml").digest


@pytest.mark.parametrize(
    "same",
    [
        f"# a comment\n{WHOLE}\n# and one more\n",
        f"{HEAD}\n{COOLING}\n{HOLDING}",
        WHOLE.replace("f = 140\nc = 60\n", "c = 60\nf = 140\n"),
        WHOLE.replace(" = ", "="),
        WHOLE.replace('citation = "1.1"', "citation = '1.1'"),
        WHOLE.replace("\n", "\r\n"),
    ],
)
def test_comments_order_and_spelling_do_not_change_the_digest(same: str) -> None:
    assert same != WHOLE
    assert digest(same) == digest(WHOLE)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("f = 69.8", "f = 69.9"),
        ("c = 21", "c = 21.5"),
        ("start_f = 140", "start_f = 139"),
        ("start_c = 60", "start_c = 59"),
        ("within_min = 90", "within_min = 91"),
        ("c = 21", "c = 21\nhold_s = 1"),
        ('side = "at or below"\ninclusive = true', 'side = "at or below"\ninclusive = false'),
        ('citation = "1.2"', 'citation = "1.3"'),
        ('basis = "from memory"', 'basis = "verified"'),
        ('name = "cooling-stage-1"', 'name = "cooling-stage-1"\nkind = "soup"'),
        ("revision = 3", "revision = 4"),
        ('id = "invented"', 'id = "invented-too"'),
    ],
)
def test_anything_that_decides_changes_the_digest(old: str, new: str) -> None:
    assert WHOLE.count(old) == 1
    assert digest(WHOLE.replace(old, new)) != digest(WHOLE)


def test_an_override_changes_the_digest() -> None:
    assert overridden(COLD_AT_45).digest != shipped().digest


def test_a_digest_is_64_hex_digits() -> None:
    assert len(digest(WHOLE)) == 64
    assert int(digest(WHOLE), 16) > 0


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing that stands in a file makes the loader fail in another way."""
    for whole in (text, f"{HEAD}\n{HOLDING}{text}", WHOLE.replace("69.8", text or "1")):
        try:
            limits = parse_set(whole, "local.toml")
        except Refused:
            continue
        assert limits.limits


def test_what_a_time_is_counted_from_changes_the_digest() -> None:
    second = WHOLE.replace('"cooling-stage-1"', '"cooling-stage-2"')
    assert digest(second.replace('clock = "start"', 'clock = "previous stage"')) != digest(second)


@pytest.mark.parametrize("clock", ["previous stage", "preparation", "reheating"])
def test_a_first_stage_is_counted_from_the_start_alone(clock: str) -> None:
    assert "cannot be counted" in refusal(WHOLE.replace('clock = "start"', f'clock = "{clock}"'))


# A number that was read in one degree alone


PRINTED = HOLDING.replace("c = 60\n", 'c = 60\nprinted = "F"\n')


@pytest.mark.parametrize(
    ("f", "c", "printed"),
    [("140", "60", "F"), ("140", "60", "C"), ("135", "57.3", "F"), ("129.2", "54", "C")],
)
def test_a_number_beside_the_printed_one_is_its_equivalent(f: str, c: str, printed: str) -> None:
    text = PRINTED.replace("f = 140", f"f = {f}").replace("c = 60", f"c = {c}")
    text = text.replace('"F"', f'"{printed}"')
    assert parse_set(f"{HEAD}\n{text}", "local.toml").get("hot-holding").printed == printed


@pytest.mark.parametrize(
    ("f", "c", "printed"),
    [
        ("140", "57", "F"),
        ("140", "59.9", "F"),
        ("140", "60.1", "F"),
        ("135", "57.2", "F"),
        ("139.9", "60", "C"),
        ("141", "60", "C"),
    ],
)
def test_one_that_is_weaker_or_no_equivalent_is_refused(f: str, c: str, printed: str) -> None:
    text = PRINTED.replace("f = 140", f"f = {f}").replace("c = 60", f"c = {c}")
    text = text.replace('"F"', f'"{printed}"')
    assert "equivalent" in refusal(f"{HEAD}\n{text}")


def test_where_a_cooling_starts_the_equivalent_may_be_higher_and_not_lower() -> None:
    """Time begins sooner at a higher start."""
    cooling = COOLING.replace(
        "start_f = 140\nstart_c = 60", 'start_f = 120\nstart_c = 48.9\nprinted = "C"'
    )
    assert "equivalent" in refusal(f"{HEAD}\n{cooling}")
    in_f = cooling.replace('"C"', '"F"').replace("f = 69.8\nc = 21", "f = 70\nc = 21.1")
    assert parse_set(f"{HEAD}\n{in_f}", "local.toml").get("cooling-stage-1").printed == "F"
    assert "48.8" in refusal(f"{HEAD}\n{in_f.replace('48.9', '48.8')}")


def test_an_accuracy_is_a_difference_and_has_no_zero_point() -> None:
    text = PRINTED.replace("hot-holding", "thermometer-accuracy").replace("or above", "or below")
    text = text.replace("at or above", "at or below").replace('"F"', '"C"')
    good = text.replace("f = 140\nc = 60", "f = 1.8\nc = 1")
    assert parse_set(f"{HEAD}\n{good}", "local.toml").limits[0].level.f == Decimal("1.8")
    assert "equivalent" in refusal(HEAD + text.replace("f = 140\nc = 60", "f = 33.8\nc = 1"))


def test_a_degree_that_is_none_is_refused() -> None:
    assert "printed is 'F' or 'C'" in refusal(HEAD + PRINTED.replace('"F"', '"K"'))


def test_the_printed_degree_changes_the_digest() -> None:
    assert digest(f"{HEAD}\n{PRINTED}") != digest(f"{HEAD}\n{HOLDING}")


# Sets over a base, and names


OVER = HEAD + 'base = "food-code-2022.1"\n'


def test_a_set_over_a_base_has_its_own_limits_and_the_rest_of_the_base_s() -> None:
    base = shipped("food-code-2022.1")
    limits = parse_set(f"{OVER}\n{HOLDING}", "local.toml")
    assert (limits.id, limits.base, limits.overrides) == ("invented", "food-code-2022.1", ())
    assert limits.get("hot-holding").level.f == 140
    assert limits.get("hot-holding", "whole roast").level.f == 130
    rest = {limit for limit in limits.limits if (limit.name, limit.kind) != ("hot-holding", "")}
    assert rest == {
        replace(one, basis="not read")
        for one in base.limits
        if (one.name, one.kind) != ("hot-holding", "")
    }
    assert limits.digest not in (base.digest, digest(f"{HEAD}\n{HOLDING}"))


@pytest.mark.parametrize(
    "base", ['"food-code-2022"', '"food-code-1066.1"', '"../limits/food-code-2022.1"', '""', "1"]
)
def test_a_base_that_does_not_ship_is_refused(base: str) -> None:
    text = f"{HEAD}base = {base}\n\n{HOLDING}"
    assert "local.toml, line 1: [set] has a base" in refusal(text)


def test_a_set_over_a_base_may_not_name_what_the_base_lacks_or_turn_a_side() -> None:
    sous = HOLDING.replace('"hot-holding"', '"hot-holding"\nkind = "soup"')
    assert "no limit 'hot-holding' for soup" in refusal(f"{OVER}\n{sous}")
    turned = HOLDING.replace('side = "at or above"', 'side = "at or below"')
    assert "keeps its side" in refusal(f"{OVER}\n{turned}")


NEW_KIND = """
[[limit]]
name = "cook"
kind = "sausage"
new = true
side = "at or above"
inclusive = true
f = 160
c = 71
citation = "1.1"
source = "an invented code"
basis = "verified"
text = "Cook sausages to 160 °F (71 °C)."
"""


def test_a_set_adds_limits_that_its_base_lacks_and_says_that_they_are_new() -> None:
    limits = parse_set(OVER + NEW_KIND, "local.toml")
    assert limits.get("cook", "sausage").level.f == 160
    assert "sausage" in limits.kinds
    assert "has no limit 'cook' for sausage to replace" in refusal(
        OVER + NEW_KIND.replace("new = true\n", "")
    )
    poultry = NEW_KIND.replace("sausage", "poultry")
    assert "has a limit 'cook' for poultry: leave out new = true" in refusal(OVER + poultry)
    assert overridden(NEW_KIND).get("cook", "sausage").level.f == 160


def test_what_a_set_adds_has_to_be_read_by_some_rule() -> None:
    held = NEW_KIND.replace('"cook"', '"hot-holding"')
    assert "no food is of that kind" in refusal(OVER + held)
    assert parse_set(OVER + NEW_KIND + held, "local.toml").get("hot-holding", "sausage")
    with pytest.raises(Refused, match="no food is of that kind"):
        overridden(NEW_KIND.replace('"cook"', '"oven"'))
    with pytest.raises(Refused, match="no rule reads a limit 'cooks'"):
        overridden(NEW_KIND.replace('"cook"', '"cooks"'))


def test_nothing_is_new_where_there_is_no_base() -> None:
    assert "has no base, so no limit is new" in refusal(HEAD + NEW_KIND)


def test_no_file_says_of_itself_that_a_number_stands_in() -> None:
    assert "basis is 'verified', 'from memory' or 'common practice'." in refusal(
        WHOLE.replace('"verified"', '"not read"')
    )


def time_alone(name: str, clock: str) -> str:
    return (
        f'[[limit]]\nname = "{name}"\nside = "at or below"\ninclusive = true\n'
        f'within_min = 90\nclock = "{clock}"\ncitation = "1.1"\nsource = "an invented code"\n'
        f'basis = "verified"\ntext = "invented"\n'
    )


@pytest.mark.parametrize(
    ("name", "clock"),
    [
        ("initial-heating", "heating"),
        ("time-out-allowed", "last proper temperature"),
        ("time-out-longest", "last proper temperature"),
    ],
)
def test_a_time_alone_has_no_temperature_and_may_exclude_its_very_time(
    name: str, clock: str
) -> None:
    text = time_alone(name, clock)
    limit = overridden(text).get(name)
    assert limit.rows == ()
    minutes = [timedelta(minutes=n) for n in (89, 90, 91)]
    assert [limit.allows(one) for one in minutes] == [True, True, False]
    less = overridden(text.replace("inclusive = true", "inclusive = false")).get(name)
    assert [less.allows(one) for one in minutes] == [True, False, False]
    with pytest.raises(Refused, match="has no temperature: leave out f"):
        overridden(text.replace("within_min", "f = 41\nc = 5\nwithin_min"))
    with pytest.raises(Refused, match="its side is 'at or below'"):
        overridden(text.replace("at or below", "at or above"))
    with pytest.raises(Refused, match="needs within_min and clock"):
        overridden(text.replace(f'within_min = 90\nclock = "{clock}"\n', ""))
    with pytest.raises(Refused, match="within_min is above 0"):
        overridden(text.replace("within_min = 90", "within_min = 0"))


def test_an_initial_heating_can_be_forbidden_and_no_other_time() -> None:
    def never(name: str, clock: str) -> str:
        text = time_alone(name, clock).replace("within_min = 90", "within_min = 0")
        return text.replace("inclusive = true", "inclusive = false")

    limit = overridden(never("initial-heating", "heating")).get("initial-heating")
    assert not limit.allows(timedelta(0))
    with pytest.raises(Refused, match="within_min is above 0"):
        overridden(never("time-out-allowed", "last proper temperature"))


def test_only_food_from_a_microwave_stands() -> None:
    microwave = COLD_AT_45.replace("cold-holding", "cook-microwave").replace("below", "above")
    stands = overridden(microwave.replace("c = 7\n", "c = 7\nstand_s = 120\n"))
    assert stands.get("cook-microwave").stand == timedelta(minutes=2)
    for slip in ("-1", "86401"):
        with pytest.raises(Refused, match="stand_s is 0 seconds or more"):
            overridden(microwave.replace("c = 7\n", f"c = 7\nstand_s = {slip}\n"))
    with pytest.raises(Refused, match="only food from a microwave stands"):
        overridden(COLD_AT_45.replace("c = 7\n", "c = 7\nstand_s = 120\n"))


def test_where_it_was_read_changes_the_digest() -> None:
    placed = HOLDING.replace('basis = "', 'address = "example.org"\nbasis = "')
    assert parse_set(f"{HEAD}\n{placed}", "local.toml").get("hot-holding").address == "example.org"
    assert digest(f"{HEAD}\n{placed}") != digest(f"{HEAD}\n{HOLDING}")


def test_a_name_that_no_rule_reads_is_refused_with_its_line() -> None:
    text = WHOLE.replace("hot-holding", "hot-holdings")
    assert f"line {HOLDING_LINE}: no rule reads a limit 'hot-holdings'" in refusal(text)


def test_a_word_in_the_head_that_is_not_known_is_refused() -> None:
    assert "'bases', which is not known" in refusal(f'{HEAD}bases = "x"\n\n{HOLDING}')


TIMED = [
    ("cooling-received", "receiving", "at or below"),
    ("time-control-hot", "removal", "at or above"),
    ("time-control-cold", "removal", "at or below"),
    ("time-control-6h", "removal", "at or below"),
    ("time-control-opened", "removal", "at or below"),
]


@pytest.mark.parametrize(("name", "clock", "side"), TIMED)
def test_a_limit_that_is_a_time_has_one_and_its_own_clock(name: str, clock: str, side: str) -> None:
    text = COLD_AT_45.replace("cold-holding", name).replace("at or below", side)
    with pytest.raises(Refused, match="needs within_min and clock"):
        overridden(text)
    timed = text.replace("c = 7\n", f'c = 7\nwithin_min = 90\nclock = "{clock}"\n')
    assert overridden(timed).get(name).within is not None
    for other in {clock for _, clock, _ in TIMED} - {clock}:
        with pytest.raises(Refused, match="cannot be counted from"):
            overridden(timed.replace(f'"{clock}"', f'"{other}"'))


def test_a_basis_may_be_common_practice() -> None:
    text = WHOLE.replace('basis = "verified"', 'basis = "common practice"')
    assert parse_set(text, "local.toml").get("hot-holding").basis == "common practice"


@pytest.mark.parametrize("name", ["food-code-2022.2", "food-code-2022.", "food-code-2022.01", ".1"])
def test_a_revision_that_does_not_ship_is_refused(name: str) -> None:
    with pytest.raises(Refused, match="food-code-2022"):
        shipped(name)


def test_a_limit_that_a_set_lacks_is_refused_with_what_to_type() -> None:
    with pytest.raises(Refused) as refused:
        shipped("food-code-2013.1").get("cook-by-instructions")
    assert str(refused.value) == (
        "FDA Food Code 2013, revision 1, has no limit for cook-by-instructions: a manager takes up "
        "the newest with haccp kitchen --limit-set food-code-2013."
    )


def test_kinds_are_those_of_food_and_not_of_ovens() -> None:
    kinds = shipped().kinds
    assert {"poultry", "injected meat", "commercial package", "whole roast"} <= set(kinds)
    assert not [kind for kind in kinds if "dry" in kind or "convection" in kind]

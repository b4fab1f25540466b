"""Names in every script: typed, found again, shown in columns, printed. The kitchen is invented."""

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.cli.wrapping import broken, wrapped
from haccp.printing import typefaces
from haccp.signs import clusters, columns, is_mark, padded, shortened
from tests.kitchens import Kitchen
from tests.printing.test_typefaces import NAMES, glyphs, text_of

EAST_ASIAN = typefaces._in_package(*typefaces._EAST_ASIAN)


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-11-02T08:00-07:00")
    made.says('setup "مطبخ ቤት" --zone America/Denver --manager AR --manager-name "Ása 麻"')
    made.says("add thermometer T1")
    made.says("add unit walk-in cold")
    return made


@pytest.fixture
def without_the_extra(monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine without Chinese, Japanese and Korean; give the font file that it lacks."""
    monkeypatch.setattr(typefaces, "_EAST_ASIAN", ("no_such_package", "font.otf"))
    assert EAST_ASIAN
    return EAST_ASIAN.files[0]


# ---- on paper ----


def test_every_paper_prints_every_name(kitchen: Kitchen, caplog: pytest.LogCaptureFixture) -> None:
    for n, name in enumerate(NAMES.values()):
        kitchen.says(f'add food "{name}" --steps cook,cool,cold_hold')
        kitchen.says(f'batch "{name}" --code b{n} --amount "2 {name}"')
        kitchen.says(f"cook b{n} 180 --yes")
        kitchen.says(f"cool b{n} 140")
    kitchen.at("2026-11-02T10:30-07:00")
    for n, name in enumerate(NAMES.values()):
        kitchen.says(f'cool b{n} 90 --note "{name}"')
        kitchen.says(f'action b{n} "{name}"')
    for command, marked in (
        ("report --output r.pdf", "r.pdf"),
        ("plan --output p.pdf", "p.pdf"),
        ("forms --output f.pdf", "f.pdf"),
        *((f"curve b{n} c{n}.pdf", f"c{n}.pdf") for n in range(len(NAMES))),
    ):
        assert "CAUTION" not in kitchen.says(command)
        pdf = Path(marked).read_bytes()
        assert 0 not in glyphs(pdf), f"a box in {marked}"
        found = text_of(pdf)
        assert "[U+" not in found
        shown = NAMES.values() if marked[0] in "rp" else []
        if marked[0] == "c":
            shown = [list(NAMES.values())[int(marked[1:-4])]]
        for name in shown:
            # a joiner has no ink of its own: it is seen in how the letters beside it are written
            letters = set(name.replace(" ", "").replace("\u200c", ""))
            assert letters <= set(found), f"{name} in {marked}"
    assert caplog.records == []


@pytest.mark.parametrize("form", ["png", "svg"])
@pytest.mark.filterwarnings("error")
def test_a_drawing_shows_every_name(kitchen: Kitchen, form: str) -> None:
    """A glyph that is missing in a drawing is only a warning there: here it is an error."""
    for n, name in enumerate(NAMES.values()):
        kitchen.says(f'batch "{name}" --code b{n}')
        kitchen.says(f"cook b{n} 180 --yes")
        kitchen.says(f"cool b{n} 140")
        kitchen.says(f"curve b{n} b{n}.{form}")
        if form == "svg":
            drawn = Path(f"b{n}.svg").read_text(encoding="utf-8").replace("\u200e", "")
            assert name in drawn
    kitchen.at("2026-11-02T18:30-07:00")
    assert "CAUTION" not in kitchen.says(f"trends --plot t.{form}")


# ---- what cannot be printed ----


def test_a_sign_that_no_typeface_has_is_refused_where_it_is_typed(kitchen: Kitchen) -> None:
    assert kitchen.refuses('batch "pizza 🍕"') == (
        "Refused: The food's name holds 🍕 (U+1F355), which cannot be printed here: type it in other "
        "letters, or name a font file that has it (haccp kitchen --typeface FILE).\n"
    )
    for hidden in ("\u202e", "\u200b", "\u2067", "\ufeff", "\u00ad", "\ue000"):
        said = kitchen.refuses(f'batch "a{hidden}b"')
        assert "holds a character that cannot be printed" in said


def test_chinese_without_its_typeface_is_refused_with_what_to_install(
    kitchen: Kitchen, without_the_extra: Path
) -> None:
    said = kitchen.refuses('batch "豆腐"')
    assert "holds 豆 (U+8C46), which cannot be printed here" in said
    assert "pip install 'haccp[cjk]'" in said
    assert "haccp kitchen --typeface FILE" in said


def test_a_kitchen_names_a_font_file(
    kitchen: Kitchen, without_the_extra: Path, tmp_path: Path
) -> None:
    own = Path(shutil.copy(without_the_extra, tmp_path / "own.otf"))
    said = kitchen.says("kitchen --typeface own.otf")
    assert re.search(rf"from {own}: CJK \(\d+\), HANGUL", said)
    kitchen.says('batch "豆腐" --code tofu')
    kitchen.says("report --output there.pdf")
    assert "豆腐" in text_of(Path("there.pdf").read_bytes())
    before = Path("there.pdf").read_bytes()

    own.rename(tmp_path / "away.otf")
    typefaces._covered.cache_clear()
    said = kitchen.run("report --output gone.pdf").stderr
    number = next(e["seq"] for e in kitchen.entries() if "豆腐" in str(e["body"]))
    assert said == (
        f"CAUTION: 3 signs such as 麻 (U+9EBB) of entry no. 2 cannot be printed here and stand as "
        f"numbers such as [U+9EBB]: put back the font file {own}, or name another (haccp kitchen "
        "--typeface FILE).\n"
    )
    assert number
    assert "[U+8C46][U+8150]" in text_of(Path("gone.pdf").read_bytes())
    assert "is not here" in kitchen.says("kitchen")
    assert f"put back the font file {own}" in kitchen.refuses('batch "豆乳"')

    (tmp_path / "away.otf").rename(own)
    typefaces._covered.cache_clear()
    kitchen.says("report --output there.pdf")
    assert Path("there.pdf").read_bytes() == before


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("nothing.ttf", None, "nothing.ttf cannot be read: no such file or directory."),
        (
            "words.ttf",
            b"not a font at all",
            "words.ttf is no font that papers can be set in beside",
        ),
        ("half.otf", "half", "half.otf is no font that papers can be set in"),
        ("same.ttf", "same", "same.ttf adds no letters to haccp's own typefaces"),
    ],
)
def test_what_is_no_use_as_a_typeface_is_refused(
    kitchen: Kitchen, tmp_path: Path, name: str, content: bytes | str | None, said: str
) -> None:
    assert EAST_ASIAN
    if content is not None:
        whole = typefaces.text_face().files[0].read_bytes()
        cut = EAST_ASIAN.files[0].read_bytes()[:400_000]
        known = {"half": cut, "same": whole}
        (tmp_path / name).write_bytes(content if isinstance(content, bytes) else known[content])
    assert said in kitchen.refuses(f"kitchen --typeface {name}")


def test_a_record_from_elsewhere_says_what_cannot_be_printed_here(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    kitchen.says('batch "soup" --code soup')
    kitchen.says('action soup "豆"')
    monkeypatch.setattr(typefaces, "_EAST_ASIAN", ("no_such_package", "font.otf"))
    said = kitchen.run("report --output r.pdf").stderr
    assert said.startswith("CAUTION: 2 signs such as 麻 (U+9EBB) of entry no. 2 cannot be printed")
    assert "pip install 'haccp[cjk]'" in said
    assert "[U+8C46]" in text_of(Path("r.pdf").read_bytes())


# ---- found again ----


@pytest.mark.parametrize("typed", ["pho\u031b\u0309", "ph\u01a1\u0309", "PHỞ", "phở"])
def test_a_name_is_the_same_however_its_accents_were_typed(kitchen: Kitchen, typed: str) -> None:
    kitchen.says('add food "phở" --kind poultry --steps cook,cool,cold_hold')
    kitchen.says("batch phở --code p1")
    assert "(p1)" in kitchen.says(f'show "{typed}"')
    kitchen.says(f'batch "{typed}" --code p2')
    assert "phở" in kitchen.says("show p2") or "PHỞ" in kitchen.says("show p2")
    kinds = {e["batch"]: e["body"]["food_kind"] for e in kitchen.entries() if e["kind"] == "batch"}  # type: ignore[index]
    assert kinds == {"p1": "poultry", "p2": "poultry"}


@pytest.mark.parametrize(
    ("name", "word"), [("ต้มยำ กุ้ง", "กุ้ง"), ("गाजर हलवा", "हलवा"), ("שֶׁמֶן טוב", "טוב")]
)
def test_a_food_is_found_by_one_of_its_words(kitchen: Kitchen, name: str, word: str) -> None:
    kitchen.says(f'batch "{name}" --code one')
    kitchen.says("batch soup --code two")
    assert "(one)" in kitchen.says(f'show "{word}"')


# ---- in columns ----

SCRIPTS = st.text(
    alphabet=st.one_of(
        st.sampled_from(" " + "".join(NAMES.values())), st.characters(codec="utf-8"), st.just(" ")
    ),
    max_size=60,
)


def test_east_asian_letters_fill_two_columns_and_marks_none() -> None:
    """By the widths of Unicode 16, annex 11; a terminal's own may differ for what is ambiguous."""
    assert columns("豆腐") == 4
    assert columns("김치") == columns("\u1100\u1161\u1100\u1161") == 4
    assert columns("phở") == columns("pho\u031b\u0309") == 3
    assert columns("שֶׁמֶן") == 3
    assert padded("豆腐", 6) == "豆腐  "


def test_columns_stay_in_line_whatever_stands_in_them(kitchen: Kitchen) -> None:
    for n, name in enumerate(NAMES.values()):
        kitchen.says(f'batch "{name}" --code b{n}')
    shown = kitchen.says("list batches").splitlines()
    rows = [line for line in shown if re.search(r"\bb\d+\b", line)]
    assert len(rows) == len(NAMES)
    begins = {columns(line[: line.rindex("  ") + 2]) for line in rows if "  " in line.strip()}
    assert len(begins) == 1


@settings(max_examples=200)
@given(text=SCRIPTS, room=st.integers(4, 30))
def test_no_line_is_too_long_and_no_letter_parted_from_its_marks(text: str, room: int) -> None:
    text = " ".join(text.split())
    lines = wrapped(text, room)
    assert all(columns(line) <= room for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    whole = {sign for sign in clusters(text) if not sign.isspace()}
    assert {sign for line in lines for sign in clusters(line) if not sign.isspace()} <= whole
    cut = shortened(text, room)
    assert columns(cut) <= room
    assert text.startswith(cut.removesuffix("…").rstrip()) or cut == text
    assert {sign for sign in clusters(cut.removesuffix(" …")) if is_mark(sign[-1])} <= whole


def test_a_sentence_breaks_by_columns() -> None:
    rows = broken("豆腐 豆腐 豆腐 豆腐", 10)
    assert rows == ["豆腐 豆腐", "豆腐 豆腐"]

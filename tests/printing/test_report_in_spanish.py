"""The report in another language than English. Every kitchen is invented."""

import json
import logging
import re
from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pdfua import validate

from haccp import limits
from haccp.assets import folder
from haccp.catalogs import catalog_of
from haccp.kitchen.register import read_register
from haccp.language import read_in
from haccp.printing import report_labels
from haccp.printing.labels import labels_of
from haccp.printing.report_words import gather
from haccp.printing.typeset import typeset
from haccp.record.bodies import KINDS, kind_in_words
from haccp.record.store import open_record
from haccp.rules.evidence import Step, Verdict
from tests import catalog
from tests.kitchens import Kitchen
from tests.printing.test_papers_in_spanish import OFFICIAL, Marked
from tests.printing.test_report import DAY, after, log
from tests.printing.test_typeset import CONTENT, CURVE, PRINTED, text

TEMPLATE = (folder("reports") / "report.typ").read_text(encoding="utf-8")


def report(content: dict[str, Any], language: str) -> bytes:
    drawings = dict.fromkeys(("curve-1.svg", "coolings-1.svg", "key.svg"), CURVE)
    with read_in(catalog_of(language)):
        return typeset(content, drawings, template="report", paper="letter", printed=PRINTED)


# ---- nothing on the pages passes the language by ----


def test_the_template_has_no_words_of_its_own() -> None:
    """Each section is on these pages, and what is not of the content is all told by labels."""
    drawings = dict.fromkeys(("curve-1.svg", "coolings-1.svg", "key.svg"), CURVE)
    with read_in(Marked()):
        pdf = typeset(CONTENT, drawings, template="report", paper="letter", printed=PRINTED)
    content = json.dumps(CONTENT, ensure_ascii=False) + CURVE.decode()
    strange = set(re.findall("[A-Za-z]{3,}", text(pdf))) - set(re.findall("[A-Za-z]+", content))
    # the command that says whether a record still holds what was printed
    assert strange <= {"haccp", "record", "verify", "against"}, strange


def test_every_label_of_the_template_is_told_and_stands_in_it() -> None:
    """Each sentence with places keeps in every language those that the template fills."""
    used = set(re.findall(r"labels\s*\.([a-z_]+)", TEMPLATE + _style()))
    assert used == set(labels_of("report")) - {"initials", "name", "role", "printed"}
    english = report_labels.labels()
    for language in ("es",):
        with read_in(catalog_of(language)):
            told = report_labels.labels()
        for name, words in english.items():
            if isinstance(words, str):
                assert told[name].count("*") == words.count("*") in (0, 2), name
                assert _places(told[name]) == _places(words), name


def _style() -> str:
    styled = (folder("reports") / "style.typ").read_text(encoding="utf-8")
    # what only the plan shows
    return re.sub(r"#let people\(.*?\n}\n", "", styled, flags=re.DOTALL)


def _places(words: str) -> set[str]:
    return set(re.findall(r"\{[a-z]+\}", words))


def test_every_message_of_the_reports_modules_is_translated() -> None:
    spanish = {tuple(catalog.forms(one.id)): one for one in catalog.read("es") if one.id}
    read = 0
    for words, where in catalog.said():
        if where.startswith("haccp/printing/"):
            assert all(catalog.forms(spanish[words].string)), words
            read += 1
    assert read > 200


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """A kitchen in whose week something of everything that a report tells went wrong."""
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    found = Kitchen(tmp_path / "record.sqlite3")
    found.at("2026-10-26T06:00-06:00")
    found.says(
        'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR '
        '--manager-name "Asta Rillwood"'
    )
    found.says('add person JM "Jory Maddow" --by AR')
    for added in ("thermometer T1", "unit well-1 hot", "unit walk-in cold --every 240"):
        found.says(f"add {added} --by AR")
    log(
        found,
        ("06:10", "ice T1 32.5"),
        ("06:20", "receive beef 38 --code beef"),
        ("07:00", "batch stew --code stew --kind 'plant food' --amount '4 gal'"),
        ("08:00", "cook stew 190"),
        ("09:00", "cool stew 135"),
        ("10:30", "cool stew 90"),
        ("10:50", "cool stew 69"),
        ("12:30", "cool stew 55"),
        ("15:30", "cool stew 44"),
        ("15:40", "discard stew slow"),
        ("16:00", "hold well-1 150"),
        ("17:00", "hold well-1 120"),
        ("17:05", "action well-1 warmed"),
        ("17:10", "hold well-1 150"),
        ("20:00", "hold well-1 150"),
        ("20:05", "amend well-1 149 --reason misread"),
        ("20:30", "hold walk-in 38"),
        ("20:50", "batch rice --code rice"),
        ("21:00", "cool rice 135"),
    )
    log(found, ("07:00", "sign yesterday --by AR --note looked"), day=after(1))
    return found


def gathered(kitchen: Kitchen) -> dict[str, Any]:
    record = open_record(kitchen.path, create=False)
    try:
        return gather(record, read_register(record), DAY, after(1), kitchen.now).words
    finally:
        record.close()


# Values that are the Code's own text and where it was read, codes of the template, and files.
IN_ENGLISH = ("text", "source", "verdict", "mark", "kind", "file", "code", "anchor", "digest")
# What this kitchen called things, and wrote.
OWN = {"Test", "Kitchen", "Asta", "Rillwood", "Jory", "Maddow", "AR", "JM", "beef", "stew", "rice",
       "well", "walk", "in", "slow", "warmed", "misread", "looked"}  # fmt: skip
# Units, symbols, and the zone's names.
SYMBOLS = {"min", "log", "MDT", "MST", "SHA", "gal", "America", "Denver", "aw", "pH", "yes", "FDA",
           "Food", "Code"}  # fmt: skip


def leaves(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    match value:
        case dict():
            for name, one in value.items():
                yield from () if name in IN_ENGLISH else leaves(one, name)
        case list() | tuple():
            for one in value:
                yield from leaves(one, key)
        case str():
            yield key, value
        case _:
            assert value is None or isinstance(value, bool | int | float)


def test_everything_a_report_tells_is_told_in_the_readers_language(kitchen: Kitchen) -> None:
    codes = {word for one in limits.shipped().limits for word in re.findall(r"\w+", one.citation)}
    with read_in(Marked()):
        words = gathered(kitchen)
    codes_of_marks = {*(verdict.value for verdict in Verdict), "out", "doubt", "gap", "missed"}
    assert len(words["full"]) >= 3
    assert words["corrections"] and words["deliveries"] and words["log"]["rows"]
    read = 0
    for key, leaf in leaves(words):
        if key not in ("coolings", "growth") and leaf not in codes_of_marks:
            strange = set(re.findall("[A-Za-z]{2,}", leaf)) - SYMBOLS - codes - OWN
            assert strange == set(), (key, leaf)
        read += "ñ" in leaf
    assert read > 100


def test_every_kind_of_entry_and_step_has_its_words() -> None:
    with read_in(Marked()):
        for body in KINDS.values():
            assert "ñ" in kind_in_words(body)  # type: ignore[arg-type]
        assert all("ñ" in step.words for step in Step)


# ---- in Spanish ----


def test_a_spanish_report_is_tagged_and_says_its_language(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        made = report(CONTENT, "es")
    assert caplog.records == []  # no second try was needed
    assert report(CONTENT, "es") == made
    file = tmp_path / "paper.pdf"
    file.write_bytes(made)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert (metadata.pdfa_status, metadata["pdfuaid:part"]) == ("2A", "1")
        assert str(pdf.Root.Lang) == "es"
    told = text(made)
    for words in ("✕ no cumple", "? sin demostrar", "● cumple", "○ en curso", "– terminó antes",
                  "Página 1 de"):  # fmt: skip
        assert words in told.replace("\u00a0", " "), words


def test_a_spanish_report_has_the_caution_once_and_each_limit_on_its_side(kitchen: Kitchen) -> None:
    """Numbers: Food Code 2022, 3-501.14(A), 3-501.16(A)(1), as in the limits file."""
    with read_in(catalog_of("es")):
        words = gathered(kitchen)
    told = " ".join(leaf for _, leaf in leaves(words))
    assert told.count(OFFICIAL) == 1
    assert told.count("dice “sin demostrar”, nunca “cumple”.") == 1
    what = [one["words"] for row in words["deviations"] for one in row["what"]]
    assert any("no 135 °F o más" in one for one in what), what
    assert any("no 41 °F en 6 h" in one for one in what), what
    assert words["log"]["heads"] == [
        "70 °F: lectura; tiempo de 2 h",
        "41 °F: lectura; tiempo de 6 h",
    ]
    assert words["sentence"][-1] == f"Falta firmar 1 día: mar {(DAY + timedelta(days=1)).day} oct."


def test_the_english_caution_stays(kitchen: Kitchen) -> None:
    words = gathered(kitchen)
    assert words["caution"].startswith("Measurements are compared with the limits at the end")
    assert words["not_shown"].startswith("means that the record does not prove")

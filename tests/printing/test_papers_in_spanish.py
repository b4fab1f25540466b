"""The plan and the log sheets in another language than English. Every kitchen is invented."""

import logging
import re
from collections.abc import Iterator
from gettext import NullTranslations
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import pikepdf
import pytest
from pdfua import validate
from pypdf import PdfReader

from haccp import limits
from haccp.catalogs import catalog_of
from haccp.kitchen.register import read_register
from haccp.language import read_in
from haccp.logs.csv_log import OPTIONAL, REQUIRED
from haccp.printing import codes_in_words, forms, haccp_plan
from haccp.printing.practice import PRACTICE
from haccp.printing.typeset import typeset
from haccp.record.bodies import Body, HoldingUnit, Person, PlannedFood, Thermometer
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.rules.evidence import Step
from tests.printing.test_plan import KITCHEN, PRINTED

Template = Literal["plan", "forms"]
PAPERS: tuple[Template, ...] = ("plan", "forms")
OFFICIAL = "El texto oficial del Código es el inglés."
KITCHENS_OWN: tuple[Body, ...] = (
    Person(initials="AR", name="Asta Rillwood", role="manager"),
    Person(initials="TP", name="Tam Pell", role="cook"),
    Thermometer(label="T1", accuracy="2F"),
    HoldingUnit(name="well-1", holds="hot", every_min=60),
    HoldingUnit(name="walk-in", holds="cold", every_min=240),
    HoldingUnit(name="egg-case", holds="egg", every_min=240),
    HoldingUnit(name="chest", holds="frozen", every_min=240),
    PlannedFood(
        name="white-bean stew",
        food_kind="plant food",
        steps=tuple(Step),
        nature="thick",
        container="hotel pan",
        depth_in="2.5",
    ),
    PlannedFood(name="beef shoulder", food_kind="whole roast", steps=("prepare", "cook", "cool")),
    PlannedFood(name="mustard glaze", steps=("prepare", "cool")),
)


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    record = open_record(tmp_path / "record.sqlite3", create=True)
    drafts = [Draft(body=body, at=PRINTED, person="AR") for body in (KITCHEN, *KITCHENS_OWN)]
    record.append(drafts, lambda: PRINTED)
    yield record
    record.close()


def gathered(template: Template, record: Record) -> dict[str, Any]:
    register = read_register(record)
    if template == "plan":
        return {**haccp_plan.gather(record, register, PRINTED), "again": ""}
    return forms.gather(register, PRINTED)


def pages(template: Template, words: dict[str, Any], record: Record) -> bytes:
    """Set words on pages, the plan with the log sheets that it attaches."""
    sheets = haccp_plan.attached(read_register(record), PRINTED) if template == "plan" else {}
    return typeset(words, {}, template=template, paper="letter", printed=PRINTED, attached=sheets)


def printed(template: Template, record: Record, catalog: NullTranslations) -> bytes:
    with read_in(catalog):
        return pages(template, gathered(template, record), record)


def text(pdf: bytes) -> str:
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return re.sub(r"\s+", " ", pages.replace("\u200b", ""))


# ---- nothing on a paper passes the language by ----


class Marked(NullTranslations):
    """A language in which every letter of a message is ñ: what else is on paper was not told."""

    def gettext(self, message: str) -> str:
        return re.sub(r"(\{\w+\})|[A-Za-z]", lambda found: found[1] or "ñ", message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


# Units, and what a control point is called in every language.
SYMBOLS = {"CCP", "in", "min", "MST", "FDA"}
# Values that are the Code's own text and where it was read, or commands to type.
IN_ENGLISH = ("text", "sources", "entered", "load")


def own_words(record: Record) -> list[str]:
    """Give what a kitchen or a code named itself and what is typed, the longest first."""
    register = read_register(record)
    kitchen = register.kitchen
    names = [kitchen.name, kitchen.zone, *register.people, *register.units, *register.thermometers]
    names += [person.name for person in register.people.values()]
    names += [name for food in register.foods.values() for name in (food.name, food.container)]
    code = limits.shipped()
    names += [code.title, *(limit.citation for limit in code.limits)]
    names += [practice.command for practice in PRACTICE.values()]
    return sorted(filter(None, names), key=len, reverse=True)


def leaves(value: Any) -> Iterator[str]:
    match value:
        case dict():
            for key, one in value.items():
                yield from () if key in IN_ENGLISH else leaves(one)
        case list() | tuple():
            for one in value:
                yield from leaves(one)
        case str():
            yield value
        case _:
            assert isinstance(value, int | float)


@pytest.mark.parametrize("template", PAPERS)
def test_every_text_is_told_in_the_readers_language(template: Template, record: Record) -> None:
    own = own_words(record)
    with read_in(Marked()):
        words = gathered(template, record)
    read = 0
    for leaf in leaves(words):
        rest = leaf
        for name in own:
            rest = rest.replace(name, "")
        if not re.fullmatch(r"[0-9a-f]{64}", leaf):
            assert set(re.findall("[A-Za-z]{2,}", rest)) - SYMBOLS - {"mm", "share"} == set(), leaf
        read += "ñ" in leaf
    assert read > 50


@pytest.mark.parametrize("template", PAPERS)
def test_a_template_has_no_words_of_its_own(template: Template, record: Record) -> None:
    with read_in(Marked()):
        words = gathered(template, record)
        told = text(pages(template, words, record))
        sheets = gathered("forms", record)
    known = " ".join([
        *own_words(record),
        *(f"{limit.text} {limit.source}" for limit in limits.shipped().limits),
        *(source for _, source in words.get("sources", ())),
        *(sheet["entered"] for sheet in sheets["sheets"]),
        *(*REQUIRED, *OPTIONAL, *SYMBOLS, sheets["load"]),
    ])  # fmt: skip
    strange = set(re.findall("[A-Za-z]{3,}", told)) - set(re.findall("[A-Za-z]+", known))
    # but for digests, and for parts of words that were broken to fit a column
    assert {one for one in strange if not re.fullmatch("[a-f]+", one) and one not in known} == set()


def test_each_code_that_a_paper_tells_has_its_words() -> None:
    with read_in(Marked()):
        for name in limits.revisions():
            for limit in limits.shipped(name).limits:
                told = codes_in_words.named(limit) + codes_in_words.in_words(limit.basis_in_words)
                assert not re.search("[A-Za-z]", told), told
        for code in ("hot", "cold", "egg", "frozen", "open liquid", "stirred", "thick"):
            assert "ñ" in codes_in_words.in_words(code)
        assert all("ñ" in codes_in_words.step_in_words(step) for step in Step)
    assert codes_in_words.in_words("{goat}") == "{goat}", "a local code's own kind of food"


# ---- in Spanish ----


@pytest.mark.parametrize("template", PAPERS)
def test_a_spanish_paper_is_tagged_and_says_its_language(
    template: Template, record: Record, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        made = printed(template, record, catalog_of("es"))
    assert caplog.records == []  # no second try was needed
    assert printed(template, record, catalog_of("es")) == made
    file = tmp_path / "paper.pdf"
    file.write_bytes(made)
    assert list(validate(str(file)).findings) == []
    with pikepdf.open(BytesIO(made)) as pdf, pdf.open_metadata() as metadata:
        assert (metadata.pdfa_status, metadata["pdfuaid:part"]) == ("2A", "1")
        assert str(pdf.Root.Lang) == "es"
    with pikepdf.open(BytesIO(printed(template, record, catalog_of("en")))) as pdf:
        assert str(pdf.Root.Lang) == "en"


@pytest.mark.parametrize("template", PAPERS)
def test_a_spanish_paper_says_once_whose_text_is_official(
    template: Template, record: Record
) -> None:
    told = text(printed(template, record, catalog_of("es")))
    assert told.count(OFFICIAL) == 1
    assert told.count("dice “sin demostrar”, nunca “cumple”.") == 1
    assert "no sustituye el código de salud local" in told.casefold()


def test_the_plan_in_spanish_has_its_parts_and_the_limits_on_their_side(record: Record) -> None:
    """Numbers: Food Code 2022, 3-501.14(A) and 3-501.16(A), as in the limits file."""
    told = text(printed("plan", record, catalog_of("es")))
    for part in (
        "Plan HACCP",
        "Información general",
        "Puntos críticos de control",
        "Medidas correctivas",
        "Unidades de mantenimiento",
        "70 °F o menos, en un máximo de 2 h a partir de 135 °F",
        "41 °F o menos, en un máximo de 6 h a partir de 135 °F",
        "como mínimo 130 °F durante 112 min, o 131 °F durante 89 min",
        "Cocción, asado entero",
        "quien trabaja con el alimento, con sus iniciales: AR, TP",
        "lun 2 nov 2026 08:00 MST",
        "Página 1 de",
    ):
        assert part in told, part
    # the Code's own text stays as it was printed
    assert "Food that was out of temperature for more than 4 hours in a spell" in told


def test_the_words_in_a_step_s_box_stand_inside_it(record: Record) -> None:
    """What time as the control ends with has its last word above what follows the boxes."""
    heights: list[tuple[float, str]] = []

    def seen(words: str, page: list[float], line: list[float], *_: Any) -> None:
        if words.strip():
            heights.append((line[4] * page[1] + line[5] * page[3] + page[5], words.strip()))

    for page in PdfReader(BytesIO(printed("plan", record, catalog_of("es")))).pages:
        if "alimento vegetal, espeso" in page.extract_text():
            page.extract_text(visitor_text=seen)
    words = [words for _, words in heights]
    longest = heights[words.index("recalentarse.")]
    after = heights[words.index("recalentarse.") + 1]
    assert after[1] == "beef shoulder"
    assert longest[0] > after[0] + 8


def test_a_log_sheet_in_spanish_has_the_fields_of_an_entry(record: Record) -> None:
    told = text(printed("forms", record, catalog_of("es")))
    for part in (
        "Enfriamiento",
        "INICIO: el momento a 135 °F, o la última lectura a esa temperatura o más",
        "4 h: 41 °F o menos si empieza a temperatura ambiente",
        "Termómetro",
        "Iniciales",
        "Revisado y firmado por (gerencia)",
        "Para anotar después, con la fecha y la hora de la hoja: haccp cool BATCH TEMP",
        "Mantener caliente",
        "Mantener caliente: well-1",
        "Cada 1 h.",
        "Si no se cumple un número: haga esto, anótelo, avise a la gerencia",
        "Hoja 2 de 15",
        "Huevos crudos con cáscara",
    ):
        assert part in told, part

"""In whose language the screen and the paper are, and what stays the same whoever reads it.

The kitchen, its people and what they type are invented.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.kitchens import Kitchen

SPANISH = {"LANG": "es_US.UTF-8"}


def typed(*words: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "haccp", *words],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONUTF8": "1"} | env,
    )


def test_help_is_in_the_language_of_the_environment() -> None:
    told = typed("--help", **SPANISH).stdout
    assert told.startswith("Uso: haccp [OPCIONES] ")
    assert "Un lote se desechó, y por qué." in told
    assert "Mostrar esta ayuda y salir." in told
    assert "  discard " in told, "a command's name is the same in every language"


def test_the_help_of_a_command_in_a_group_is_too() -> None:
    told = typed("add", "person", "--help", **SPANISH).stdout
    assert "Agregar a alguien que hace anotaciones." in told
    assert 'haccp add person JM "Jo Marsh"' in told
    assert "Quién anota; si no, HACCP_BY o `haccp initials`." in told


def test_what_click_refuses_is_refused_in_spanish() -> None:
    run = typed("cool", **SPANISH)
    assert run.returncode == 2
    assert run.stderr == "No se aceptó: Falta el argumento 'BATCH'. Vea haccp cool --help\n"
    run = typed("cool", "--hlep", **SPANISH)
    assert "Aquí no existe la opción --hlep." in run.stderr
    run = typed("limits", "nothing", **SPANISH)
    assert "No existe la orden 'nothing'." in run.stderr


def test_one_persons_language_is_not_anothers(kitchen: Kitchen) -> None:
    kitchen.says('add person JM "J. M." --language es --by AR')
    kitchen.says('add person KL "K. L." --by AR')
    assert "K. L. is no manager" in kitchen.refuses("sign --by KL")
    assert "J. M. no es de gerencia" in kitchen.refuses("sign --by JM")
    assert os.environ.get("LANGUAGE") is None, "the process reads as before"


def test_a_person_keeps_their_language_when_they_are_added_again(kitchen: Kitchen) -> None:
    kitchen.says('add person JM "J. M." --language es --by AR')
    kitchen.says('add person JM "J. M." --role manager --by AR')
    kitchen.says('add person JM "J. M." --role cook --by AR')
    assert "no es de gerencia" in kitchen.refuses("sign --by JM")
    kitchen.says('add person JM "J. M." --language en --by AR')
    assert "is no manager" in kitchen.refuses("sign --by JM")


def test_a_language_that_nobody_translated_is_refused(kitchen: Kitchen) -> None:
    assert "'fr' is not one of 'en', 'es'" in kitchen.refuses("kitchen --language fr --by AR")


def test_json_is_the_same_whoever_reads(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    kitchen.says("cool stew 135")
    kitchen.at("2026-10-26T13:00-06:00")
    kitchen.says("cool stew 110")
    commands = ("show stew --json", "status --json", "list entries --json", "kitchen --json")
    english = [kitchen.says(command) for command in commands]
    monkeypatch.setenv("LANG", "es_US.UTF-8")
    assert [kitchen.says(command) for command in commands] == english
    assert json.loads(english[0])["verdict"] == "open"
    kitchen.says('add person JM "J. M." --language es --by AR')
    assert kitchen.says("show stew --json") == english[0]


def test_what_is_recorded_is_the_same_in_every_language(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    other = Kitchen(tmp_path / "other.sqlite3")
    other.path.write_bytes(kitchen.path.read_bytes())
    for one, language in ((kitchen, "C.UTF-8"), (other, "es_US.UTF-8")):
        monkeypatch.setenv("LANG", language)
        for clock, command in (
            ("12:05", "cool stew 135"),
            ("13:00", "cool stew 98"),
            ("13:30", "hold well-1 140"),
        ):
            one.at(f"2026-10-26T{clock}-06:00")
            one.says(command)
    assert kitchen.entries() == other.entries()


def test_a_batch_is_told_of_in_spanish(kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LANG", "es_US.UTF-8")
    kitchen.at("2026-10-26T12:05-06:00")
    kitchen.says("cool stew 135")
    kitchen.at("2026-10-26T18:30-06:00")
    kitchen.says("cool stew 60")
    told = " ".join(kitchen.says("show stew").split())
    assert "!en enfriamiento desde algún momento entre las 12:05 y las 18:30" in told
    assert "(! marca una desviación)" in told
    assert "Marca de fecha: último día, " in told
    assert "NO CUMPLE" in told
    options = " ".join(kitchen.says("action stew").split())
    assert "- Deseche el alimento. [3-501.14(A)(2); " in options
    kitchen.says("discard stew 'muy lento'")
    assert kitchen.refuses("cool stew 50") == (
        "No se aceptó: Ya no está 'stew' (lote abierto): stew: se desechó el lun 26 oct a las "
        "18:30; vea haccp show stew\n"
    )


def test_papers_are_in_the_kitchens_language_whoever_prints(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def printed() -> str:
        path = tmp_path / "forms.pdf"
        kitchen.says(f"forms --output {path}")
        return " ".join(page.extract_text() for page in PdfReader(path).pages)

    kitchen.says('add person JM "J. M." --language es --by AR')
    monkeypatch.setenv("LANG", "es_US.UTF-8")
    assert "41 °F or below" in printed().replace("\u00a0", " ")
    kitchen.says("kitchen --language es --by AR")
    kitchen.says('add person JM "J. M." --language en --by AR')
    monkeypatch.setenv("LANG", "C.UTF-8")
    told = printed().replace("\u00a0", " ")
    assert "41 °F o menos" in told
    assert "41 °F or below" not in told


def test_an_earlier_paper_is_in_the_language_of_then(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.at("2026-10-27T08:00-06:00")
    kitchen.says("kitchen --language es --by AR")
    kitchen.at("2026-10-28T08:00-06:00")
    for when, own, other in (
        ("2026-10-26 23:00", "Page 1 of", "Página"),
        ("", "Página 1 de", "Page"),
    ):
        path = tmp_path / "forms.pdf"
        kitchen.says(f"forms --output {path} --printed '{when}'")
        told = " ".join(page.extract_text() for page in PdfReader(path).pages)
        assert own in told
        assert other not in told


@pytest.mark.long
def test_the_demo_is_the_same_in_every_language(tmp_path: Path) -> None:
    made = []
    for language in ("C.UTF-8", "es_US.UTF-8"):
        folder = tmp_path / language
        assert typed("demo", str(folder), LANG=language).returncode == 0
        papers = [path.read_bytes() for path in sorted(folder.glob("*.pdf"))]
        assert len(papers) == 3
        db = str(folder / "record.sqlite3")
        for form in ("json", "csv"):
            out = typed("--db", db, "export", f"{folder}/all.{form}", LANG=language)
            assert out.returncode == 0, out.stderr
            papers.append((folder / f"all.{form}").read_bytes())
        papers.append(typed("--db", db, "list", "batches", "--json", LANG=language).stdout.encode())
        made.append(papers)
    assert made[0] == made[1]

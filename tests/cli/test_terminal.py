"""What reaches a terminal: through one function, and without what would steer it."""

import ast
import json
import os
import pty
import re
import subprocess
import sys
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest

import haccp
from haccp.cli import terminal
from tests.kitchens import Kitchen

PACKAGE = Path(haccp.__file__).parent
TERMINAL = PACKAGE / "cli" / "terminal.py"

# What writes to a terminal, or asks at it, by whatever library.
CALLS = {"print", "input", "breakpoint"}
METHODS = {
    "click": {
        "echo", "secho", "echo_via_pager", "prompt", "confirm", "style", "pause", "getchar",
        "progressbar", "edit", "launch", "clear", "get_text_stream", "get_binary_stream",
    },
    "sys": {"stdout", "stderr", "stdin", "__stdout__", "__stderr__", "__stdin__"},
    "traceback": {"print_exc", "print_exception", "print_stack", "print_last", "print_tb"},
    "warnings": {"showwarning"},
    "plt": {"show"},
    "pprint": {"pprint", "pp"},
    "os": {"write", "system"},
}  # fmt: skip
MODULES = {"getpass", "curses", "readline", "pdb"}

STEERING = {
    "cursor": "\x1b[2J",
    "title": "\x1b]0;owned\x07",
    "C1": "\x9b2J",
    "return": "fine\rMET",
    "backspace": "\x08",
    "override": "\u202e",
    "isolate": "\u2066",
    "mark": "\u200f",
    "line": "\u2028",
    "half": "\udc9b",
}


def ways_out(module: Path) -> Iterator[str]:
    """Name each place of a module that writes to the terminal by itself."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        match node:
            case ast.Call(func=ast.Name(id=name)) if name in CALLS:
                yield f"{module.name}:{node.lineno} {name}"
            case ast.Attribute(value=ast.Name(id=of), attr=name) if name in METHODS.get(of, ()):
                yield f"{module.name}:{node.lineno} {of}.{name}"
            case ast.Import(names=names):
                yield from (f"{module.name}: {one.name}" for one in names if one.name in MODULES)
            case ast.ImportFrom(module=of, names=names):
                found = {one.name for one in names} & METHODS.get(of or "", set())
                yield from (f"{module.name}: {of}.{name}" for name in found)


def test_nothing_but_one_module_writes_to_the_terminal() -> None:
    assert list(ways_out(TERMINAL)), "what is looked for is not even found where it is"
    modules = [one for one in PACKAGE.rglob("*.py") if one != TERMINAL]
    assert len(modules) > 50
    found = [way for one in modules for way in ways_out(one)]
    # what is said of an interrupt while that module is still being imported: fixed words
    assert [re.sub(r":\d+", "", way) for way in found] == ["__main__.py os.write"]


def test_that_module_writes_in_one_function_beside_what_it_passes_on() -> None:
    """`pass_on` writes a file's content, and to what is no terminal."""
    functions = [
        one
        for one in ast.walk(ast.parse(TERMINAL.read_text(encoding="utf-8")))
        if isinstance(one, ast.FunctionDef)
    ]
    writing = {
        one.name
        for one in functions
        for node in ast.walk(one)
        if isinstance(node, ast.Attribute) and node.attr in ("write", "writelines", "echo")
    }
    assert writing == {"_write", "pass_on"}


@pytest.mark.parametrize("what", STEERING)
def test_no_character_that_steers_a_terminal_is_left(
    what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = f"a{STEERING[what]}b"
    terminal.say(text)
    terminal.say(text, err=True)
    terminal.lines(text)
    terminal.paragraph(text)
    terminal.call_out(text)
    terminal.table(("one", "two"), [(text, text)])
    terminal.as_json({text: text})
    out, err = capsys.readouterr()
    for said in (out, err):
        assert said
        odd = {c for c in said if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")}
        assert odd <= {"\n"}, what


@pytest.mark.parametrize("what", [one for one in STEERING if one != "half"])
def test_json_says_what_steers_in_its_own_way(
    what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    terminal.as_json([STEERING[what]])
    assert json.loads(capsys.readouterr().out) == [STEERING[what]]


def in_a_terminal(kitchen: Kitchen, *words: str, answer: bytes = b"") -> tuple[int, str]:
    """Run haccp with all its streams on a terminal; give what it printed there."""
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-m", "haccp", "--db", str(kitchen.path), *words],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "HACCP_BY": "JM", "NO_COLOR": "1"},
        start_new_session=True,
    )
    os.close(theirs)
    os.write(ours, answer)
    said = b""
    try:
        while part := os.read(ours, 4096):
            said += part
    except OSError:  # how the end of a terminal looks
        pass
    os.close(ours)
    return running.wait(), said.decode()


NASTY = "x\x1b[31m\u202ey\x07"


@pytest.mark.parametrize(
    "words",
    [
        ("cool", NASTY, "98"),
        (NASTY,),
        ("status", f"--{NASTY}"),
        ("plan", "--paper", NASTY),
        ("limits", "show", NASTY),
        ("check", f"/none/{NASTY}"),
        ("export", f"/none/{NASTY}.json"),
        ("--db", f"/none/{NASTY}", "status"),
        ("record", "verify", "--against", NASTY),
        ("report", "--printed", NASTY),
        ("list", NASTY),
    ],
)  # fmt: skip
def test_what_was_typed_comes_back_without_what_steers(
    kitchen: Kitchen, words: tuple[str, ...]
) -> None:
    """Also in what click itself says of a wrong word or option."""
    code, said = in_a_terminal(kitchen, *words)
    assert code == 2, said
    assert "\N{REPLACEMENT CHARACTER}" in said or "\\x" in said or "\\u" in said, said
    assert not [c for c in said if unicodedata.category(c) in ("Cc", "Cf") and c not in "\r\n"]


def test_a_question_is_asked_and_answered_in_the_terminal(kitchen: Kitchen) -> None:
    code, said = in_a_terminal(kitchen, "cook", "stew", "400", answer=b"n\n")
    assert "400 °F" in said
    assert "Record it?" in said
    assert "Nothing was recorded" in said
    assert code == 2


def test_an_export_shown_in_a_terminal_steers_nothing_and_in_a_pipe_is_unchanged(
    kitchen: Kitchen,
) -> None:
    words = ("export", "-", "--format", "csv")
    _, shown = in_a_terminal(kitchen, *words)
    assert "\r\r\n" not in shown
    piped = subprocess.run(
        [sys.executable, "-m", "haccp", "--db", str(kitchen.path), *words],
        capture_output=True,
        check=True,
    )
    file = kitchen.path.with_name("all.csv")
    kitchen.says(f"export {file}")
    assert piped.stdout == file.read_bytes()

"""The README's examples say what the program says."""

import re
import shlex
from datetime import UTC, datetime
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from haccp.cli.main import cli
from haccp.cli.on_demand import Named
from haccp.cli.session import Session

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
_PROMPT = re.compile(r"^(\d\d:\d\d )?\$ haccp (.*)$", re.MULTILINE)


def examples() -> list[tuple[str, str, str]]:
    """Cut the console blocks into clock, command and what it prints."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        prompts = list(_PROMPT.finditer(block))
        ends = [*(prompt.start() for prompt in prompts[1:]), len(block)]
        for prompt, end in zip(prompts, ends, strict=True):
            printed = block[prompt.end() : end].strip("\n")
            found.append((prompt[1] or "", prompt[2], printed))
    return found


def test_the_tour_prints_what_the_readme_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)
    pot = re.search(r"```csv\n(.*?)```", README, re.DOTALL)
    assert pot
    Path("pot.csv").write_text(pot[1], encoding="utf-8")
    count = 0
    for clock, command, printed in examples():
        now = datetime.fromisoformat(f"2026-11-02T{clock.strip() or '18:00'}-07:00").astimezone(UTC)
        words = shlex.split(command)
        record = words[1] if words[0] == "--db" else "record.sqlite3"
        session = Session(tmp_path / record, lambda now=now: now, ask=lambda _: "2580")  # type: ignore[misc]
        result = CliRunner().invoke(cli, words, obj=session, prog_name="haccp")
        assert result.exit_code in (0, 1), f"{command}: {result.output}"
        shown = "\n".join(line.rstrip() for line in result.output.strip("\n").splitlines())
        if printed:
            assert shown == printed, command
            count += 1
    assert count > 10


def test_the_python_example_prints_what_its_comments_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    said = "\n".join(line[2:] for line in block.splitlines() if line.startswith("# "))
    names: dict[str, object] = {}
    exec(compile(block, "README.md", "exec"), names)
    assert capsys.readouterr().out.rstrip() == said
    assert isinstance(names["svg"], bytes)
    assert names["svg"].startswith(b"<?xml")


def test_every_command_is_named_in_the_readme() -> None:
    named = set(re.findall(r"(?<=haccp )[a-z-]+|(?<=`)[a-z-]+(?=`)", README))
    assert set(cli.commands) <= named


def mentioned() -> list[str]:
    """Give the whole commands that stand in the text: with more than a command's name."""
    spans = re.findall(r"`(haccp [^`]+)`", re.sub(r"```.*?```", "", README, flags=re.DOTALL))
    lines = sorted({" ".join(span.split()) for span in spans})
    return [line for line in lines if len(shlex.split(line)) > 2]


@pytest.mark.parametrize("line", mentioned())
def test_a_command_in_the_text_can_be_typed_so(
    line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its name, its options and how many words it takes are there."""
    monkeypatch.chdir(tmp_path)
    for file in re.findall(r"\S+\.(?:csv|toml)", line, re.IGNORECASE):
        Path(file).touch()
    _, *words = shlex.split(line)
    with cli.make_context("haccp", [*words], resilient_parsing=True) as ctx:
        name, command, rest = cli.resolve_command(ctx, words)
        assert isinstance(command, Named | click.Command), name
        own = command.imported() if isinstance(command, Named) else command
        while isinstance(own, click.Group):
            found = own.get_command(ctx, rest[0])
            assert found, line
            own, rest = found, rest[1:]
        own.make_context(name, rest, parent=ctx).close()

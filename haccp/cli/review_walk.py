"""A manager's walk past what is to be decided and signed: each is recorded as it is typed.

What is typed is the command that the screen names, without haccp and the name: it runs as at the
shell, so that no act is recorded in two ways.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import click

from haccp.cli.on_demand import Commands
from haccp.cli.session import Session
from haccp.cli.terminal import line_after, say
from haccp.cli.to_decide import ToDecide, to_decide
from haccp.errors import Refused
from haccp.language import counted, phrase
from haccp.phrases import any_of
from haccp.time import short_day

# Beside what decides a food that is there, what may be written of it.
_BESIDE = ("corrective", "set-apart")


@dataclass
class Passed:
    """What of a walk was done, and whether its person ended it."""

    done: int = 0
    is_ended: bool = False


def walk_decisions(
    ctx: click.Context, items: Sequence[ToDecide], by: str | None, passed: Passed
) -> None:
    """Ask of each thing what is decided about it; Enter passes it on, undecided.

    What was decided meanwhile, and what only a signature decides, is not asked about.
    """
    session: Session = ctx.obj
    asked = [one for one in items if one.acts]
    if asked:
        say(phrase("Type what is decided, and why; Enter passes on, ? for help."), err=True)
    for number, item in enumerate(asked, 1):
        session.anew()
        left = [one for one in to_decide(session)[0] if set(one.names) & set(item.names)]
        for one in left:
            names = ",".join(one.names)

            def run(command: str, why: str, names: str = names) -> None:
                _run(ctx, command, [*_by(by), "--", names, *([why] if why else [])])

            say(one.words(session), err=True)
            question = phrase(
                "{number} of {count}, {names}: {acts}, and why:",
                number=number,
                count=len(asked),
                names=names,
                acts=any_of(one.acts),
            )
            beside = _BESIDE if one.is_there else ()
            _asked(session, question, (*one.acts, *beside), run, passed)
            if passed.is_ended:
                return


def walk_signatures(
    ctx: click.Context, days: Sequence[date], by: str | None, passed: Passed
) -> None:
    """Ask of each day, the oldest first, whether it is signed; Enter passes it on, unsigned."""
    session: Session = ctx.obj
    for day in reversed(days):
        if passed.is_ended:
            return

        def run(command: str, note: str, day: date = day) -> None:
            _run(ctx, command, [*_by(by), *([f"--note={note}"] if note else []), str(day)])

        question = phrase("{day}: sign-day, and a note; Enter passes on:", day=short_day(day))
        _asked(session, question, ("sign-day",), run, passed)


def _asked(
    session: Session,
    question: str,
    acts: Sequence[str],
    run: Callable[[str, str], None],
    passed: Passed,
) -> None:
    """Ask until something was recorded or passed on."""
    while not passed.is_ended:
        typed = line_after(question)
        if typed is None or typed.casefold() == "q":
            passed.is_ended = True
            say(_sum(passed), err=True)
            return
        if not typed:
            return
        word, _, why = typed.partition(" ")
        if typed in ("?", "h", "help"):
            _help(acts)
            continue
        recorded = len(session.recorded)
        try:
            run(_act(word, acts), why.strip().strip("\"'"))
        except Refused as slip:
            say(str(slip), err=True)
        if len(session.recorded) > recorded:
            passed.done += 1
            return


def _act(word: str, acts: Sequence[str]) -> str:
    """Find the command that a word begins; raises Refused for none or for several."""
    found = [one for one in acts if one.startswith(word.casefold())]
    if len(found) != 1:
        raise Refused(
            phrase(
                "{word} is none of {acts}: type one of them, and why.",
                word=repr(word),
                acts=", ".join(acts),
            )
        )
    return found[0]


def _run(ctx: click.Context, command: str, args: list[str]) -> None:
    """Run a command as it was typed at the shell, in the same sitting.

    Its record is the one that was shown: what others entered meanwhile is not decided about unseen.
    """
    session: Session = ctx.obj
    session.look_at_the_clock()
    root = ctx.find_root()
    assert isinstance(root.command, Commands)  # it began there
    name, found, rest = root.command.resolve_command(root, [command, *args])
    assert found is not None  # only names of commands are handed in
    with found.make_context(name, rest, parent=root) as running:
        found.invoke(running)


def _by(by: str | None) -> list[str]:
    return ["--by", by] if by else []


def _help(acts: Sequence[str]) -> None:
    for words in (
        phrase("Type one of {acts} and a few words: it is recorded at once.", acts=", ".join(acts)),
        phrase("The beginning of the word is enough; Enter passes on, and nothing is decided."),
        phrase("q ends the walk, as Ctrl-C does: what was typed until then is kept."),
    ):
        say(words, err=True)


def _sum(passed: Passed) -> str:
    if not passed.done:
        return phrase("Nothing was decided.")
    return counted("{count} was recorded.", "{count} were recorded.", passed.done)

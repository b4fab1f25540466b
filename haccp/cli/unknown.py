"""What is typed without a command that there is: a unit's name, a word that means one, nothing."""

from collections.abc import Sequence
from difflib import get_close_matches

import click

from haccp.cli.on_demand import Commands
from haccp.cli.reading_line import readings
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.naming import like, meant, open_names, unit_numbers
from haccp.language import message, phrase
from haccp.phrases import any_of
from haccp.temperature import is_temperature

_CORRECT = message(
    "Nothing is deleted, and what was entered stays readable: correct it, such as haccp amend "
    '{name} TEMP --reason "read the wrong pan"'
)
_READING = message(
    "A temperature is logged by what is done with the food: haccp hold {words}, or cook, cool or "
    "reheat in place of hold"
)
# What people type, and what they are told instead.
_INSTEAD = {
    **dict.fromkeys(
        ("undo", "delete", "del", "remove", "erase", "fix", "edit", "change", "cancel"), _CORRECT
    ),
    **dict.fromkeys(("log", "temp", "temperature", "reading", "measure", "enter"), _READING),
    "help": message("haccp --help lists every command; haccp hold --help tells of one"),
}

# They stop checks, end a food's story or let it pass: nobody is led to one by a suggestion.
LETS_PASS = frozenset(
    {
        *("closed", "empty-unit", "kitchen", "leave-out", "oven", "pin", "sign-day"),
        *("corrective", "divert", "release-food", "tcs", "time-control", "trust-thermometer"),
        "go-on",
        *("discard", "merge", "reject", "split", "used-up"),
        *("freeze", "move", "opened", "out", "thaw"),
    }
)


@click.command(add_help_option=False, context_settings={"ignore_unknown_options": True})
@click.argument("words", nargs=-1, type=click.UNPROCESSED)
@click.pass_context
def unknown(ctx: click.Context, words: tuple[str, ...]) -> None:
    """Hold the unit that is named; else say what to type instead of a word that is no command."""
    told = _INSTEAD.get(words[0].casefold())
    if told:
        rest = _before_options(words[1:])
        name = rest[0] if rest else "NAME"
        raise Refused(phrase(told, words=" ".join(rest) or "NAME TEMP", name=name))
    session = ctx.find_object(Session)
    if session and session.has_record and _is_of_a_unit(session, _before_options(words)):
        from haccp.cli.measure import hold

        with hold.make_context("hold", list(words), parent=ctx.parent) as holding:
            hold.invoke(holding)
        return
    group = ctx.parent.command if ctx.parent else None
    near = suggested(words[0], group) if isinstance(group, Commands) else []
    if near:
        raise Refused(
            phrase(
                "There is no command {word}: did you mean {near}?",
                word=repr(words[0]),
                near=any_of(near),
            )
        )
    if session and session.has_record:
        named = like(words[0], [*open_names(session.record), *session.register.units_in_use])
        if named:
            raise Refused(
                phrase(
                    "There is no command {word}, and nothing is called so: did you mean {near}?",
                    word=repr(words[0]),
                    near=any_of(named),
                )
            )
    raise Refused(
        phrase("There is no command {word}: haccp --help lists them", word=repr(words[0]))
    )


def suggested(word: str, group: Commands) -> list[str]:
    """Give the commands that a wrong word is answered with; those of before by their name now."""
    every = {**{name: name for name in group.commands}, **group.earlier}
    harmless = [name for name, now in every.items() if now not in LETS_PASS]
    near = get_close_matches(word.casefold(), harmless, 2, 0.7)
    return list(dict.fromkeys(every[name] for name in near))


def _before_options(words: Sequence[str]) -> Sequence[str]:
    options = (
        n for n, word in enumerate(words) if word.startswith("-") and not is_temperature(word)
    )
    return words[: next(options, len(words))]


def _is_of_a_unit(session: Session, words: Sequence[str]) -> bool:
    """Whether words without a command are of a unit; raises Refused where they are of a batch."""
    units = session.register.units_in_use
    names = open_names(session.record).with_units(units, unit_numbers(session.register))
    typed = [one.name for one in readings(words, names)] or list(words[:1])
    hits = {names.numbers.get(hit) or names[hit] for name in typed for hit in meant(name, names)[1]}
    batches = sorted(hits.difference(units))
    if batches:
        rest = " ".join(words)
        raise Refused(
            phrase(
                "What was done with {name}? Type haccp hold {words}, or cook, cool or reheat in "
                "place of hold",
                name=f" {phrase('or')} ".join(batches),
                words=rest if len(words) > 1 else f"{words[0]} TEMP",
            )
        )
    return bool(hits)

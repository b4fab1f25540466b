"""Branches beside the record, told: which wait for a decision, and what they are about."""

from collections.abc import Sequence

from haccp.kitchen.register import Register
from haccp.language import counted, message, phrase
from haccp.record.branches import Branch

_MOST_NAMES = 6


def undecided_branches(register: Register) -> list[Branch]:
    return [one for one in register.branches if one.decided is None]


def branch_in_words(one: Branch) -> str:
    """Say what parted, and what its entries are about."""
    parted = (
        counted(
            "{count} entry of this record after no. {after} parts from the chain that {server} "
            "holds: a branch, no part of that chain.",
            "{count} entries of this record after no. {after} part from the chain that {server} "
            "holds: a branch, no part of that chain.",
            one.entries,
            after=one.after,
            server=one.server,
        )
        if one.is_own
        else counted(
            "{count} entry that parted after no. {after} is kept beside the record as {head}, no "
            "part of its chain.",
            "{count} entries that parted after no. {after} are kept beside the record as {head}, "
            "no part of its chain.",
            one.entries,
            after=one.after,
            head=one.name,
        )
    )
    if not one.about:
        return parted
    about = phrase("About: {names}.", names=some_of(one.about))
    return f"{parted} {about}"


def how_to_go_on(one: Branch) -> str:
    """Say by which line a manager decides about a branch."""
    told = (
        message(
            "A branch is decided by a manager, who goes on along the server's chain: haccp "
            'hand-over URL --go-on "..."'
        )
        if one.is_own
        else message(
            "A branch is decided by a manager, who goes on without it: haccp record branches "
            'shows it; haccp go-on {name} "..."'
        )
    )
    return phrase(told, name=one.name)


def some_of(names: Sequence[str]) -> str:
    shown = list(names[:_MOST_NAMES])
    if more := len(names) - len(shown):
        shown.append(counted("{count} more", "{count} more", more))
    return ", ".join(shown)

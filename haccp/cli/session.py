"""What every command that touches the record needs: where it is, what time it is, who types."""

from __future__ import annotations

import json
import os
import unicodedata
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property, partial
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING, Any, Self, TypeVar

import click

from haccp.cli.interrupts import held
from haccp.cli.outputs import PRIVATE, replace_whole
from haccp.cli.reader import read_by
from haccp.cli.terminal import agrees, ask_unseen, is_answered, say
from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.places import Place
from haccp.signs import composed, is_spelling

# what opens the record is imported where it is opened: `check` and `limits` need none
if TYPE_CHECKING:
    from haccp.kitchen.register import Register
    from haccp.record.bodies import Person
    from haccp.record.entries import Draft, Entry
    from haccp.record.store import Record

_Command = TypeVar("_Command", bound=Callable[..., Any])

_TRIES = 3


class Declined(Refused):
    """Somebody was asked, and said no."""


def utc_now() -> datetime:
    return datetime.now(UTC)


def new_nonce() -> str:
    return token_hex(16)


@dataclass
class Session:
    """One run of the command line. The clock is handed in: a test and the demo have their own.

    `recorded` holds the numbers of the entries that this run committed: they are told, whatever
    comes after.
    """

    path: Place
    clock: Callable[[], datetime] = utc_now
    ask: Callable[[str], str] = ask_unseen
    nonce: Callable[[], str] = new_nonce
    recorded: list[int] = field(default_factory=list)

    @cached_property
    def now(self) -> datetime:
        return self.clock().replace(microsecond=0)

    @property
    def has_record(self) -> bool:
        """Whether there is a record to be opened; on a server whoever runs it prepared one."""
        return not isinstance(self.path, Path) or self.path.exists()

    @cached_property
    def record(self) -> Record:
        """The record as it stood when it was first asked for, and what this run adds to it."""
        from haccp.record.store import open_record

        return self._as_it_stands(open_record(self.path, create=False))

    def _as_it_stands(self, record: Record) -> Record:
        """Give a record as it stands; a view takes up first what its tills hold by now."""
        if not record.store.is_view:
            return record.as_it_stands()
        from haccp.record.view import caught_up  # a record needs nothing of it

        return caught_up(record, self.now)

    @property
    def is_view(self) -> bool:
        return self.record.store.is_view

    @property
    def is_typed_into(self) -> bool:
        """Whether anything may be typed here: into a record, or into a till's own view."""
        if not self.is_view:
            return True
        from haccp.record.tills import tills_of  # a record needs nothing of it

        return any(till.is_own for till in tills_of(self.record))

    def refuse_view(self) -> None:
        """Raise Refused for what is no chain of its own."""
        if self.is_view:
            with self.record.store.entering():
                pass

    def _typed_into(self) -> AbstractContextManager[Record]:
        """Give the record that is typed into, a view's own till's; Refused where it has none."""
        if not self.is_view:
            return nullcontext(self.record)
        from haccp.record.own_till import record_of  # a record needs nothing of it

        return record_of(self.record)

    def forget_record(self) -> None:
        """Read the record anew when it is asked for next: another one is in its place."""
        for known in ("record", "identity", "now", "register"):
            self.__dict__.pop(known, None)

    def anew(self) -> None:
        """Take the clock and the record as they are now, for what is typed next in one sitting."""
        self.tell_troubles(err=True)
        for known in ("now", "register"):
            self.__dict__.pop(known, None)
        self.record = self._as_it_stands(self.record)

    def look_at_the_clock(self) -> None:
        """Take the clock as it is now; the record stays the one that was looked at."""
        self.__dict__.pop("now", None)

    @cached_property
    def identity(self) -> str:
        """The digest of the record's first entry: its copies have it too, no other record has."""
        first = self.record.numbered((1,))
        return first[0].digest if first else ""

    @cached_property
    def register(self) -> Register:
        from haccp.kitchen.register import read_register

        register = read_register(self.record)
        read_by(_language_of(self._named_who_types, register))
        return register

    def tell_troubles(self, *, err: bool = False) -> None:
        """Say, before what rests on the record, where that is known not to hold together."""
        told, self.record.troubles = self.record.troubles, []
        for words in told:
            say(phrase("CAUTION: {trouble}", trouble=words), err=err)

    def close(self) -> None:
        if "record" in self.__dict__:
            with suppress(OSError):  # after an answer that could not be told
                self.tell_troubles(err=True)
            self.record.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def append(
        self, *drafts: Draft, as_seen: bool = False, unchanged: Sequence[str] = ()
    ) -> list[Entry]:
        """Append entries; with `as_seen` only where nobody has entered anything meanwhile.

        So it is where somebody vouches for, or takes back, what they looked at. With `unchanged`
        only where nobody has entered anything about those batches.
        """
        made = self.append_to(self.record, *drafts, as_seen=as_seen, unchanged=unchanged)
        kitchen = self.register.kitchen
        if kitchen.daily_copies:
            self._daily_copy(kitchen.daily_copies)
        return made

    def append_to(
        self, record: Record, *drafts: Draft, as_seen: bool, unchanged: Sequence[str] = ()
    ) -> list[Entry]:
        """Append entries to a record, and know of each commit: an interrupt waits meanwhile."""
        from haccp.record.threads import about_batch

        threads = [about_batch(code) for code in unchanged]
        with held() as interrupted:

            def now() -> datetime:
                if interrupted():  # while others wrote: nothing is written yet
                    raise KeyboardInterrupt
                return self.clock()

            entered: Callable[..., list[Entry]] = record.append
            if record.store.is_view:
                from haccp.record.own_till import append  # a record needs nothing of it

                entered = partial(append, record, committed=self.recorded.extend)
            made = entered(drafts, now, as_seen=as_seen, unchanged=threads)
            self.recorded += [entry.seq for entry in made]
        return made

    def _daily_copy(self, keep: int) -> None:
        from haccp.record.backup import daily_copy

        day = f"{self.now.astimezone(self.register.zone):%Y-%m-%d}"
        try:
            with self._typed_into() as record:
                if isinstance(record.place, Path):  # a server has its own copies
                    daily_copy(record, keep, day)
        except (Refused, OSError) as error:
            # the entry is safe; only its copy is not, and somebody has to know
            say(phrase("Today's backup failed: {why}", why=error), err=True)

    def by(self, initials: str | None) -> Person:
        """Say who records: `--by`, HACCP_BY, or who is remembered; Refused for nobody."""
        with self._typed_into():
            pass  # it is there
        named = initials or self._named_who_types
        if not named:
            raise Refused(
                phrase("Who are you? Type your initials once: haccp initials JM (or set HACCP_BY).")
            )
        return self.register.person(named)

    @property
    def _named_who_types(self) -> str:
        """Give the initials that were typed with the command, are set here, or were remembered."""
        ctx = click.get_current_context(silent=True)
        typed = ctx.params.get("by") if ctx else None
        named = typed or os.environ.get("HACCP_BY") or _remembered().get(self._who_types)
        return named or ""

    def remember(self, initials: str) -> None:
        """Remember who types here, for this record alone: elsewhere they are somebody else."""
        path = _by_file()
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        everybody = _remembered() | {self._who_types: initials}
        replace_whole(path, [json.dumps(everybody, indent=0).encode()], mode=PRIVATE)

    @property
    def _who_types(self) -> str:
        place = self.path.resolve() if isinstance(self.path, Path) else self.path
        return f"{place} {self.identity}"

    def manager(self, initials: str | None) -> Person:
        """Say which manager acts, proved by their PIN; raises Refused for anybody else."""
        from haccp.record.pins import prove

        person = self.manager_without_pin(initials)
        ask = partial(self._in_place, partial(self._typed_pin, person.initials))
        with self._typed_into() as record:  # a PIN is kept where it was set
            prove(record, person.initials, ask, self.clock)
        return person

    def manager_without_pin(self, initials: str | None) -> Person:
        """Say which manager acts where nobody has a PIN yet; raises Refused for anybody else."""
        person = self.by(initials)
        if person.role != "manager":
            raise Refused(
                phrase("{name} is no manager: a manager does this, with --by.", name=person.name)
            )
        return person

    def new_pin(self, initials: str) -> str:
        """Ask for a new PIN, and again so that a slip does not lock its owner out."""
        return self._in_place(partial(self._chosen_pin, initials))

    def _chosen_pin(self, initials: str) -> str:
        from haccp.record.pins import check_new

        asked = phrase("New PIN of {initials} (4 to 12 digits)", initials=initials)
        pin = check_new(self.ask(asked))
        if self.ask(phrase("The same again")) != pin:
            raise Refused(phrase("The two are not the same: nothing was changed, type it again."))
        return pin

    def _typed_pin(self, initials: str) -> str:
        pin = self.ask(phrase("PIN of {initials}", initials=initials))
        if not (pin.isdecimal() and 4 <= len(pin) <= 12):
            raise Refused(phrase("A PIN is 4 to 12 digits: nothing was recorded, type it again."))
        return pin

    def _in_place(self, ask: Callable[[], str]) -> str:
        """Ask again after a slip, three times at most: typed at the shell, a PIN would be seen."""
        for _ in range(_TRIES - 1 if is_answered() else 0):
            try:
                return ask()
            except Refused as slip:
                say(str(slip), err=True)
        return ask()


def default_path() -> Path:
    import platformdirs

    return platformdirs.user_data_path("haccp") / "record.sqlite3"


def _language_of(initials: str, register: Register) -> str:
    """Say what language somebody reads by the record; empty where it does not say."""
    person = register.people.get(initials.upper())
    return person.language if person else ""


def _by_file() -> Path:
    import platformdirs

    return platformdirs.user_config_path("haccp") / "by"


def _remembered() -> dict[str, str]:
    """Read who types into which record; a file that says anything else says nothing."""
    try:
        found = json.loads(_by_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {record: initials for record, initials in found.items() if isinstance(initials, str)}


def by_option(command: _Command) -> _Command:
    return click.option(
        "-b", "--by", metavar="INITIALS", help="Who records; else HACCP_BY or `haccp initials`."
    )(command)


def confirm(question: str, *, yes: bool) -> bool:
    """Ask where somebody can answer; say whether it was asked. Raises Declined for a no."""
    if yes:
        return True
    if not is_answered():
        raise Refused(
            phrase(
                "{question} Nothing was recorded; if it is right, type it again with --yes.",
                question=question,
            )
        )
    say(question, err=True)
    if not agrees(phrase("Record it?")):
        raise Declined(phrase("Nothing was recorded."))
    return True


def given(reason: str | None, line: str) -> str:
    """Take why something is done, in a few words; raises Refused with the line to type for none."""
    from haccp.time import is_time

    if reason is None or is_time(reason):
        raise Refused(phrase("Why? Say it in a few words: {line}", line=line))
    return printable(reason, phrase("The reason"))


def printable(text: str, what: str, longest: int = 200) -> str:
    """Take a text that can be printed in one line; raises Refused for anything else."""
    text = composed(text.strip())
    if not text:
        raise Refused(phrase("{what} is empty: type a few words.", what=what))
    if len(text) > longest:
        raise Refused(
            phrase(
                "{what} is longer than {longest} characters: type less.",
                what=what,
                longest=longest,
            )
        )
    if text.isascii() and text.isprintable():
        return text
    if any(_is_unseen(text, place) for place in range(len(text))):
        raise Refused(
            phrase(
                "{what} holds a character that cannot be printed: type it again without.", what=what
            )
        )
    if max(text) >= "\u0100":  # what comes before stands in every typeface
        _refuse_unprintable(text, what)
    return text


def _is_unseen(text: str, place: int) -> bool:
    """Whether a character says nothing on paper, and is none that a script spells words with."""
    unseen = unicodedata.category(text[place]) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
    return unseen and not is_spelling(text, place)


def _refuse_unprintable(text: str, what: str) -> None:
    """Refuse a text with a sign that no typeface of the kitchen's papers has."""
    from haccp.printing.typefaces import cure, numbered, typefaces

    named = _named_typeface()
    lacking = next(typefaces(named).lacking(text), None)
    if lacking:
        told = message(
            "{what} holds {sign} ({number}), which cannot be printed here: type it in other "
            "letters, or {cure}"
        )
        shown = {"sign": lacking, "number": numbered(lacking)}
        raise Refused(phrase(told, what=what, **shown, cure=cure(lacking, named)))


def _named_typeface() -> str:
    """Give the font file that the kitchen named; none while it is being set up."""
    ctx = click.get_current_context(silent=True)
    session = ctx.find_object(Session) if ctx else None
    if session and session.has_record:
        with suppress(Refused):  # a server's record that holds no kitchen yet
            return session.register.kitchen.typeface
    return ""

"""What a record holds more of each year: checks of thermometers and units, signatures."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

from haccp.record.bodies import DaySigned, Measured, ThermometerCheck, UnitEmptied
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.entries import LATE, Corrections, Entry, having, told_at
from haccp.record.store import Record
from haccp.record.threads import about_thermometer, about_unit, acts_on_unit, of_kind, under_day
from haccp.time import CLOCK_TOLERANCE

# A unit's thread is read in stretches of this length, each once for as long as a view stands.
_STRETCH = timedelta(days=7)
_BEGAN = datetime(2000, 1, 3, tzinfo=UTC)


class History:
    """What a record holds more of each year: checks of thermometers and units, signatures.

    It is read from its end, as far back as is asked for. `kept` is for what is made of it, for as
    long as the register stands.
    """

    def __init__(self, record: Record) -> None:
        self._record = record
        self._checks: dict[str, tuple[datetime, _Checks]] = {}
        self._signed: dict[str, list[Entry[DaySigned]]] = {}
        self._tills: dict[int, str] = {}
        self._seen: dict[date, tuple[Entry[DaySigned] | None, int]] = {}
        self.kept: dict[object, Any] = {}

    def till_of(self, entry: Entry) -> str:
        """Name the till at which an entry was typed."""
        if entry.seq not in self._tills:
            self._tills[entry.seq] = self._record.till_of(entry.seq)
        return self._tills[entry.seq]

    def signed(self, day: date) -> tuple[Entry[DaySigned] | None, int]:
        """Give the last signature under a day and the last entry that its signer had seen.

        Of a view's tills it is the one that had seen least; where nobody signed at one of them, or
        over it, none.
        """
        if day not in self._seen:
            seen: dict[str, tuple[int, Entry[DaySigned]]] = {}
            for one in self.signatures(day):
                for till, number in self._seen_by(one).items():
                    if number >= seen.get(till, (0,))[0]:
                        seen[till] = number, one
            least = min(seen.values(), key=lambda one: one[0], default=None)
            is_whole = least and len(seen) == len(self._record.tills)
            self._seen[day] = (least[1], least[0]) if least and is_whole else (None, 0)
        return self._seen[day]

    def _seen_by(self, signature: Entry[DaySigned]) -> dict[str, int]:
        """Say of each till up to which entry somebody had seen it who signed a day."""
        if not self._record.store.is_view:
            return {"": signature.seq}
        from haccp.record.tills import seen_up_to  # a record needs nothing of it

        return seen_up_to(self._record, signature)

    def checks_since(self, thermometer: str, moment: datetime) -> "_Checks":
        """Give a thermometer's checks, back to the last good one before a moment, in order.

        What was entered before that says nothing of what was measured since. Where the clock was
        ever put back, that cannot be told, and all of them are given.
        """
        known = self._checks.get(thermometer)
        if known is None or moment < known[0]:
            known = self._checks[thermometer] = moment, self._read_checks(thermometer, moment)
        return known[1]

    def _read_checks(self, thermometer: str, moment: datetime) -> "_Checks":
        moves = self._record.about(of_kind(ClockMoved.kind))
        went_back = any(isinstance(e.body, ClockMoved) and e.body.seconds < 0 for e in moves)
        enough = datetime.min.replace(tzinfo=UTC)
        read: list[Entry] = []
        for entry in self._record.backwards(about_thermometer(thermometer)):
            if entry.entered_at < enough and not went_back:
                break
            read.append(entry)
            good = isinstance(entry.body, ThermometerCheck) and entry.body.passed
            if good and told_at(entry) <= moment:
                enough = max(enough, told_at(entry) - CLOCK_TOLERANCE)
        taken_back = {entry.corrects for entry in read}
        mine = [
            one
            for one in having(reversed(read), ThermometerCheck)
            if one.body.thermometer == thermometer and one.seq not in taken_back
        ]
        return _Checks(mine, any(not one.body.passed for one in mine))

    def of_unit(self, name: str, since: datetime, until: datetime) -> Sequence[Entry]:
        """Give what is in force about a holding unit, of moments from `since` to `until`, by time.

        What was entered late or corrected is among it, whenever that was.
        """
        # what was entered in time may stand in the stretch after its moment's
        first, last = (since - _BEGAN) // _STRETCH, (until + LATE - _BEGAN) // _STRETCH
        every: dict[str, _OfUnit] = self._record.kept.setdefault(_OfUnit, {})
        known = every.get(name)
        if known is None or not known.first <= first <= last <= known.last:
            if known and first <= known.last + 1 and known.first <= last + 1:
                first, last = min(first, known.first), max(last, known.last)
            known = every[name] = self._in_force(name, first, last)
        mine = bisect_left(known.moments, since), bisect_right(known.moments, until)
        return known.entries[slice(*mine)]

    def _in_force(self, name: str, first: int, last: int) -> "_OfUnit":
        begins, ends = _BEGAN + first * _STRETCH, _BEGAN + (last + 1) * _STRETCH
        acts = self._acts_on_unit(name, begins)
        about = bisect_left(acts.moments, begins), bisect_left(acts.moments, ends)
        found = {entry.ref: entry for entry in acts.entries[slice(*about)]}
        for n in range(first, last + 1):
            found |= {entry.ref: entry for entry in self._stretch(name, n)}
        mine = [e for e in found.values() if e.unit == name and not acts.corrections.of(e)]
        mine.sort(key=lambda entry: (entry.at, entry.seq))
        return _OfUnit(first, last, mine, [entry.at for entry in mine])

    def forget(self, before: datetime) -> None:
        """Forget what was read, but for stretches of units from a moment on, and acts on them.

        Whoever goes through a long history from its beginning keeps a little of it at a time.
        """
        kept, first = self._record.kept, (before - _BEGAN) // _STRETCH
        stretches, acts = kept.get(_STRETCH, {}), kept.get(_Acts, {})
        kept.clear()
        kept[_STRETCH] = {key: read for key, read in stretches.items() if key[1] >= first}
        kept[_Acts] = acts
        self.kept.clear()

    def last_of_unit(self, name: str) -> Entry | None:
        """Give the last look at a holding unit, or its emptying, however long ago that was."""
        corrections = Corrections()
        for entry in self._record.backwards(about_unit(name)):
            corrections.add(entry)
            is_look = isinstance(entry.body, Measured | UnitEmptied) and entry.unit == name
            if is_look and not corrections.of(entry):
                return entry
        return None

    def _stretch(self, name: str, n: int) -> list[Entry]:
        known: dict[tuple[str, int], list[Entry]] = self._record.kept.setdefault(_STRETCH, {})
        if (name, n) not in known:
            since, until = _BEGAN + n * _STRETCH, _BEGAN + (n + 1) * _STRETCH
            known[name, n] = self._record.about(about_unit(name), since=since, until=until)
        return known[name, n]

    def _acts_on_unit(self, name: str, since: datetime) -> "_Acts":
        known: dict[str, _Acts] = self._record.kept.setdefault(_Acts, {})
        if name not in known or since < known[name].since:
            read = self._record.about(acts_on_unit(name), since=since)
            corrections = Corrections(read)
            read.sort(key=lambda one: one.at)
            known[name] = _Acts(since, read, [one.at for one in read], corrections)
        return known[name]

    def signatures(self, day: date) -> list[Entry[DaySigned]]:
        """Give the signatures under a day, in the order of their entry."""
        name = day.isoformat()
        if name not in self._signed:
            found = self._record.about(under_day(name))
            self._signed[name] = [one for one in having(found, DaySigned) if not one.corrected_by]
        return self._signed[name]


class _Checks(NamedTuple):
    """A thermometer's checks in force, in order, and whether any of them failed."""

    entries: Sequence[Entry[ThermometerCheck]]
    any_failed: bool


class _Acts(NamedTuple):
    """What was done about a unit, entered late or corrected since a moment, by its moment."""

    since: datetime
    entries: Sequence[Entry]
    moments: Sequence[datetime]
    corrections: Corrections


class _OfUnit(NamedTuple):
    """What is in force about a unit in the stretches `first` to `last`, by time."""

    first: int
    last: int
    entries: Sequence[Entry]
    moments: Sequence[datetime]

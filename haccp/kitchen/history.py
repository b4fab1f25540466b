"""What a record holds more of each year: checks of thermometers and units, signatures."""

from datetime import UTC, date, datetime, timedelta

from haccp.record.bodies import ClockMoved, DaySigned, Measured, ThermometerCheck, UnitEmptied
from haccp.record.entries import LATE, Entry, having, told_at
from haccp.record.store import Record
from haccp.record.threads import about_thermometer, about_unit, acts_on_unit, of_kind, under_day
from haccp.time import CLOCK_TOLERANCE

# A unit's thread is read in stretches of this length, each once for as long as a view stands.
_STRETCH = timedelta(days=7)
_BEGAN = datetime(2000, 1, 3, tzinfo=UTC)


class History:
    """What a record holds more of each year: checks of thermometers and units, signatures.

    It is read from its end, as far back as is asked for.
    """

    def __init__(self, record: Record) -> None:
        self._record = record
        self._checks: dict[str, tuple[datetime, list[Entry]]] = {}
        self._signed: dict[str, list[Entry[DaySigned]]] = {}
        self._tills: dict[int, str] = {}
        self._seen: dict[date, tuple[Entry[DaySigned] | None, int]] = {}

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

    def checks_since(self, thermometer: str, moment: datetime) -> list[Entry]:
        """Give a thermometer's checks, back to the last good one before a moment, in order.

        What was entered before that says nothing of what was measured since. Where the clock was
        ever put back, that cannot be told, and all of them are given.
        """
        reached, found = self._checks.get(thermometer, (None, []))
        if reached is None or moment < reached:
            found = self._read_checks(thermometer, moment)
            self._checks[thermometer] = (moment, found)
        return found

    def _read_checks(self, thermometer: str, moment: datetime) -> list[Entry]:
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
        return [entry for entry in reversed(read) if entry.seq not in taken_back]

    def of_unit(self, name: str, since: datetime, until: datetime) -> list[Entry]:
        """Give what is in force about a holding unit, of moments from `since` to `until`, by time.

        What was entered late or corrected is among it, whenever that was.
        """
        acts = self._acts_on_unit(name, since)
        corrected = {entry.corrects for entry in acts}
        found = {entry.ref: entry for entry in acts}
        # what was entered in time may stand in the stretch after its moment's
        for n in range((since - _BEGAN) // _STRETCH, (until + LATE - _BEGAN) // _STRETCH + 1):
            found |= {entry.ref: entry for entry in self._stretch(name, n)}
        mine = [
            entry
            for entry in found.values()
            if entry.unit == name and since <= entry.at <= until and entry.seq not in corrected
        ]
        return sorted(mine, key=lambda entry: (entry.at, entry.seq))

    def last_of_unit(self, name: str) -> Entry | None:
        """Give the last look at a holding unit, or its emptying, however long ago that was."""
        taken_back = set()
        for entry in self._record.backwards(about_unit(name)):
            taken_back.add(entry.corrects)
            is_look = isinstance(entry.body, Measured | UnitEmptied) and entry.unit == name
            if is_look and entry.seq not in taken_back:
                return entry
        return None

    def _stretch(self, name: str, n: int) -> list[Entry]:
        known: dict[tuple[str, int], list[Entry]] = self._record.kept.setdefault(_STRETCH, {})
        if (name, n) not in known:
            since, until = _BEGAN + n * _STRETCH, _BEGAN + (n + 1) * _STRETCH
            known[name, n] = self._record.about(about_unit(name), since=since, until=until)
        return known[name, n]

    def _acts_on_unit(self, name: str, since: datetime) -> list[Entry]:
        known: dict[str, tuple[datetime, list[Entry]]]
        known = self._record.kept.setdefault(acts_on_unit, {})
        if name not in known or since < known[name][0]:
            known[name] = since, self._record.about(acts_on_unit(name), since=since)
        return known[name][1]

    def signatures(self, day: date) -> list[Entry[DaySigned]]:
        """Give the signatures under a day, in the order of their entry."""
        name = day.isoformat()
        if name not in self._signed:
            found = self._record.about(under_day(name))
            self._signed[name] = [one for one in having(found, DaySigned) if not one.corrected_by]
        return self._signed[name]

"""The kitchen as the record knows it: settings, people, thermometers, units, foods, signed days."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from functools import cache
from operator import attrgetter
from typing import TypeVar
from zoneinfo import ZoneInfo

from haccp import limits
from haccp.errors import Refused
from haccp.kitchen.history import History
from haccp.language import message, phrase
from haccp.limits import LimitSet
from haccp.limits.limit import guarded
from haccp.record.bodies import (
    Assessed,
    Body,
    DayClosed,
    DaySigned,
    Diverted,
    DoubtSettled,
    HoldingUnit,
    KitchenSettings,
    OvenAccepted,
    Person,
    PlannedFood,
    Released,
    Thermometer,
    ThermometerCheck,
    Unreadable,
)
from haccp.record.bodies_of_record import (
    ForkDecided,
    ForkKept,
    HandedOver,
    PinSet,
    Restored,
)
from haccp.record.branches import Branch, branches_of
from haccp.record.entries import Entry, having, told_at
from haccp.record.merging import NOT_AGREED
from haccp.record.store import Record
from haccp.record.threads import (
    UNREADABLE,
    of_kind,
)
from haccp.rules.evidence import ACCURACY
from haccp.signs import folded
from haccp.temperature import Degree, parse_temperature
from haccp.time import MovedZone, dated, zone_named

_Kind = TypeVar("_Kind", Person, Thermometer, HoldingUnit, PlannedFood)

# What a kitchen is made of: few entries, all of them read each time.
_KINDS = (
    KitchenSettings.kind,
    DayClosed.kind,
    Person.kind,
    Thermometer.kind,
    DoubtSettled.kind,
    HoldingUnit.kind,
    PlannedFood.kind,
    OvenAccepted.kind,
    PinSet.kind,
    Restored.kind,
    HandedOver.kind,
    ForkKept.kind,
    ForkDecided.kind,
)


# What nobody could enter without a manager's PIN; anything else bears initials as they were typed.
PROVED = (
    KitchenSettings, DayClosed, Person, Thermometer, HoldingUnit, PlannedFood, OvenAccepted,
    DoubtSettled, Released, Diverted, Assessed, DaySigned, ForkDecided,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """Everything that stands beside the readings, folded from the entries that are in force."""

    settings: tuple[Entry[KitchenSettings], ...]
    zone: ZoneInfo
    people: Mapping[str, Person]
    thermometers: Mapping[str, Thermometer]
    units: Mapping[str, HoldingUnit]
    foods: Mapping[str, PlannedFood]
    history: History
    decisions: tuple[Entry[DoubtSettled], ...]
    closed: tuple[Entry[DayClosed], ...]
    ovens: tuple[Entry[OvenAccepted], ...]
    unit_settings: Mapping[str, Sequence[tuple[datetime, HoldingUnit]]]
    food_settings: Mapping[str, Sequence[tuple[datetime, PlannedFood]]]
    thermometer_settings: Mapping[str, Sequence[tuple[datetime, Thermometer]]]
    pins: tuple[Entry[PinSet], ...]
    restored: tuple[Entry[Restored], ...]
    handed_over: tuple[Entry[HandedOver], ...]
    forks: tuple[Entry[ForkDecided], ...]
    branches: tuple[Branch, ...]
    unreadable: tuple[Entry[Unreadable], ...]
    judged_by: LimitSet | None = None  # whatever was in force: history judged anew

    @property
    def kitchen(self) -> KitchenSettings:
        return self.kitchen_at(self.settings[-1].at)

    @property
    def units_in_use(self) -> list[str]:
        return [unit.name for unit in self.units.values() if unit.active]

    @property
    def degree(self) -> Degree:
        return Degree(self.kitchen.degree)

    def kitchen_at(self, moment: datetime) -> KitchenSettings:
        """Give the settings in force at a moment; a change never reaches back to earlier days."""
        past = [entry for entry in self.settings if entry.at <= moment] or [self.settings[0]]
        return past[-1].body

    def limits_at(self, moment: datetime) -> LimitSet:
        """Give the limits that what began at a moment is judged by.

        Raises Refused where no revision of this version is what was in force: a limit that changed
        under its name must not judge earlier food anew.
        """
        if self.judged_by:
            return self.judged_by
        kitchen = self.kitchen_at(moment)
        if kitchen.limits_digest == NOT_AGREED:
            raise Refused(
                phrase(
                    "The tills of this view do not judge by the same limits and clock, and what "
                    "began then is judged at each alone: haccp record tills tells what differs, "
                    "haccp kitchen at each till sets it alike."
                )
            )
        return limits_of(kitchen.limit_set, kitchen.overrides, kitchen.guard, kitchen.limits_digest)

    def unit_at(self, name: str, moment: datetime) -> HoldingUnit:
        """Give a unit as it stood at a moment; a change never reaches back to earlier checks."""
        return _in_force(self.unit_settings[name], moment)

    def food_at(self, name: str, moment: datetime) -> PlannedFood | None:
        """Give a food as the plan had it at a moment; None for one that the plan does not have."""
        settings = self.food_settings.get(folded(name))
        return _in_force(settings, moment) if settings else None

    def accuracy_at(self, thermometer: str, moment: datetime) -> Fraction:
        """Give by how much a thermometer may be off, as was stated for it at a moment [°F]."""
        if thermometer not in self.thermometer_settings:
            return ACCURACY
        return _difference(_in_force(self.thermometer_settings[thermometer], moment).accuracy)

    def added_at(self, name: str) -> datetime:
        """Say when a unit was added."""
        return self.unit_settings[name][0][0]

    def retired_at(self, name: str) -> datetime | None:
        """Say since when a unit is no longer used; None for one that is, or that nobody added."""
        unit = self.units.get(name)
        return None if unit is None or unit.active else self.unit_settings[name][-1][0]

    def declared_closed(self, day: date) -> Entry[DayClosed] | None:
        """Find what declares a kitchen day closed."""
        declared = (e for e in self.closed if e.body.first <= day.isoformat() <= e.body.last)
        return next(declared, None)

    def accepted(self, oven: str, at: datetime) -> Entry[OvenAccepted] | None:
        """Find the letter in force at a moment by which an oven is accepted for whole roasts."""
        return next((e for e in reversed(self.ovens) if e.body.oven == oven and e.at <= at), None)

    def beside(self, names: Iterable[str]) -> list[Branch]:
        """Give the branches, decided or not, that are about any of some batches and units."""
        wanted = frozenset(names)
        return [one for one in self.branches if not wanted.isdisjoint(one.about)]

    def signed(self, day: date) -> Entry[DaySigned] | None:
        """Find the last signature under a day; of a view's tills the one that had seen least."""
        return self.history.signed(day)[0]

    def signed_up_to(self, day: date) -> int:
        """Give the last entry that was seen, at every till, by who signed a day; 0 for none."""
        return self.history.signed(day)[1]

    def is_proved(self, entry: Entry) -> bool:
        """Whether a PIN proved who made an entry: by its kind, and only of who had one by then."""
        if isinstance(entry.body, PinSet | Restored):
            return entry.body.proved
        had_one = any(
            one.body.initials == entry.person
            and one.seq < entry.seq
            and self.history.till_of(one) == self.history.till_of(entry)
            for one in self.pins
        )
        return had_one and isinstance(entry.body, PROVED)

    def person(self, initials: str) -> Person:
        """Find who records; raises Refused for somebody unknown or gone."""
        person = self.people.get(initials.upper())
        if person is None:
            called = [
                one
                for one in self.people.values()
                if one.active and initials.casefold() in one.name.casefold().split()
            ]
            if called:
                raise Refused(
                    phrase(
                        "Initials are typed, not a name: {initials}.",
                        initials=", ".join(f"{one.initials} ({one.name})" for one in called),
                    )
                )
            known = ", ".join(sorted(self.people))
            raise Refused(
                phrase(
                    "Nobody here has the initials {initials}: type one of {known}.",
                    initials=repr(initials),
                    known=known,
                )
            )
        if not person.active:
            gone = message("{name} ({initials}) has left and cannot record.")
            raise Refused(phrase(gone, name=person.name, initials=person.initials))
        return person

    def checks_of(
        self, thermometer: str, since: datetime
    ) -> list[tuple[datetime, ThermometerCheck]]:
        """Give a thermometer's checks by time, back to the last good one before a moment."""
        checks = self.history.checks_since(thermometer, since).entries
        return sorted(((one.at, one.body) for one in checks), key=lambda check: check[0])

    def _is_settled(self, failed: Entry, thermometer: str) -> bool:
        """Whether a manager decided about a failed check, having seen it."""
        return any(
            entry.body.thermometer == thermometer
            and entry.at >= failed.at
            and entry.seq > failed.seq
            for entry in self.decisions
        )

    def doubted_since(self, thermometer: str, at: datetime) -> datetime | None:
        """Say which failed check puts a reading in doubt: one between the good checks around it.

        A manager's decision settles the doubt that the checks failed before it had thrown.
        Source: DEVELOPERS.md, verdict rules; tolerance 4-203.11.
        """
        checks = self.history.checks_since(thermometer, at)
        if not checks.any_failed:
            return None
        good = [entry for entry in checks.entries if entry.body.passed]

        def is_cleared(failed: Entry) -> bool:
            if failed.at > at:
                # one entered after the failure, about a moment before it, was too good to be true
                return any(at < one.at < failed.at and one.seq < failed.seq for one in good)
            after = ((told_at(one), one.seq) for one in good if told_at(one) <= at)
            return any(one > (failed.at, failed.seq) for one in after)

        failed = [
            entry.at
            for entry in checks.entries
            if not entry.body.passed
            and not self._is_settled(entry, thermometer)
            and not is_cleared(entry)
        ]
        return min(failed, default=None)


@cache
def limits_of(limit_set: str, overrides: str, guard: str, digest: str | None = None) -> LimitSet:
    """Load a limit set with a kitchen's overrides and guard band laid over it.

    It is the set's newest revision, or with a digest the one that has it. Raises Refused where
    none has.
    """
    if digest is None:
        return _laid_over(limits.shipped(limit_set), overrides, guard)
    for revision in limits.revisions().get(limit_set, ()):
        with suppress(Refused):  # local limits need not fit every revision
            loaded = _laid_over(limits.shipped(f"{limit_set}.{revision}"), overrides, guard)
            if loaded.digest == digest:
                return loaded
    raise Refused(
        phrase(
            "The limits {limit_set} of this haccp are not those that the record was judged by: "
            "open it with the version that made it.",
            limit_set=repr(limit_set),
        )
    )


def _laid_over(loaded: LimitSet, overrides: str, guard: str) -> LimitSet:
    if overrides:
        loaded = limits.load_overrides(loaded, overrides, phrase("the kitchen's limits"))
    return guarded(loaded, parse_temperature(guard)) if guard else loaded


def read_register(record: Record) -> Register:
    """Fold the register from the record. Raises Refused if there is no kitchen in it yet."""
    read = record.about(*map(of_kind, (*_KINDS, UNREADABLE)))
    entries = [one for one in read if not one.corrected_by and one.body.kind in _KINDS]
    bodies = [entry.body for entry in entries]
    settings = tuple(having(entries, KitchenSettings))
    lost = list(having(entries, Unreadable))
    if not settings and lost:
        raise Refused(
            phrase(
                "The kitchen's settings in {path} (entry no. {seq}) cannot be read: open it with "
                "the haccp that made it, or restore a backup.",
                path=record.place,
                seq=lost[0].seq,
            )
        )
    if not settings:
        none = message("{path} holds no kitchen yet: make one with haccp setup.")
        raise Refused(phrase(none, path=record.place))
    return Register(
        settings=settings,
        zone=_zone_of(settings),
        people={body.initials: body for body in _all(bodies, Person)},
        thermometers={body.label: body for body in _all(bodies, Thermometer)},
        units={body.name: body for body in _all(bodies, HoldingUnit)},
        foods={body.name: body for body in _all(bodies, PlannedFood)},
        history=History(record),
        decisions=tuple(having(entries, DoubtSettled)),
        closed=tuple(having(entries, DayClosed)),
        ovens=tuple(having(entries, OvenAccepted)),
        unit_settings=_settings(entries, HoldingUnit, attrgetter("name")),
        food_settings=_settings(entries, PlannedFood, lambda food: folded(food.name)),
        thermometer_settings=_settings(entries, Thermometer, attrgetter("label")),
        pins=tuple(having(entries, PinSet)),
        restored=tuple(having(entries, Restored)),
        handed_over=tuple(having(entries, HandedOver)),
        forks=tuple(having(entries, ForkDecided)),
        branches=branches_of(
            record,
            list(having(entries, ForkKept)),
            having(entries, ForkDecided),
            having(entries, HandedOver),
        ),
        unreadable=tuple(having(read, Unreadable)),
    )


def _settings(
    entries: Iterable[Entry], kind: type[_Kind], name: Callable[[_Kind], str]
) -> dict[str, list[tuple[datetime, _Kind]]]:
    """Give what was set of each of a kind, and when, in the order of its entry."""
    found: dict[str, list[tuple[datetime, _Kind]]] = {}
    for entry in having(entries, kind):
        found.setdefault(name(entry.body), []).append((entry.at, entry.body))
    return found


def _zone_of(settings: Sequence[Entry[KitchenSettings]]) -> ZoneInfo:
    """Give the kitchen's time: where a manager changed its zone, earlier days keep theirs."""
    set_at = sorted((entry.at, entry.seq, entry.body.zone) for entry in settings)
    zone = zone_named(set_at[0][2])
    for at, _, named in set_at[1:]:
        if named != zone.key:
            zone = MovedZone.after(zone, zone_named(named), at)
    return zone


def _in_force(settings: Sequence[tuple[datetime, _Kind]], moment: datetime) -> _Kind:
    if len(settings) == 1:
        return settings[0][1]
    past = [body for at, body in settings if at <= moment]
    return past[-1] if past else settings[0][1]


@cache
def _difference(stated: str) -> Fraction:
    return parse_temperature(stated).difference


def _all(bodies: Iterable[Body], kind: type[_Kind]) -> Iterable[_Kind]:
    return (body for body in bodies if isinstance(body, kind))


def restored_words(body: Restored) -> str:
    """Say what was put in whose place."""
    if not body.replaced:
        return phrase(
            "A copy that ended with no. {seq} ({digest}) was put in the place of no record.",
            seq=body.restored,
            digest=body.restored_digest[:12],
        )
    return phrase(
        "A copy that ended with no. {seq} ({digest}) was put in the place of a record that ended "
        "with no. {old_seq} ({old_digest}): what that one held beyond the copy is not in this one.",
        seq=body.restored,
        digest=body.restored_digest[:12],
        old_seq=body.replaced,
        old_digest=body.replaced_digest[:12],
    )


def accepted_words(body: OvenAccepted) -> str:
    """Say by what letter an oven is accepted for whole roasts."""
    return phrase(
        "accepted in writing by {authority}, letter of {day}",
        authority=body.authority,
        day=dated(date.fromisoformat(body.letter)),
    )

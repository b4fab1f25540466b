"""What an entry says: one frozen value for each kind, plain fields only.

A body is written as canonical JSON, so every field is text, a whole number, a truth value, or a
list of texts; a number that is judged stays the text that was entered.
"""

from dataclasses import dataclass
from typing import ClassVar, get_args

from haccp.language import message, phrase
from haccp.record.bodies_of_record import (
    ClockMoved,
    ForkDecided,
    ForkKept,
    HandedOver,
    PinSet,
    Restored,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitchenSettings:
    """A kitchen's settings; the newest entry is in force from its moment on.

    `overrides` is the text of the kitchen's limits file, empty for none; `guard` a temperature
    difference such as ``1F``, empty for simple acceptance. Intervals [min], altitude [m].
    `daily_copies` is how many automatic daily backups are kept, 0 for none. `thermometer_days` is
    how often a thermometer is checked [d], 0 for no fixed interval. `late_reheat` names the local
    code by which a cooling that missed its first stage may be reheated once, empty for none.
    `open_hours` are its opening hours by weekday, empty for never closed; in a closure of at most
    `longest_closure` no check of cold food is due [d]. `owns` is what it has to cool food with,
    such as ``ice bath, 2-inch pans``, empty where nobody said. `walk` are its units in the order in
    which a round passes them, as far as somebody said. `language` is what its papers are in, empty
    for English; its `address`, its `permit`'s number and who is `in_charge` (2-101.11) are on them.
    `typeface` is a font file for letters that no typeface of haccp has, empty for none.
    `nonce` is drawn where a record is made, so that no two have the same first digest, which is the
    record's name; one that was made before has none, and may share its name with one that was
    set up alike in the same second.
    """

    kind: ClassVar[str] = message("kitchen")
    name: str
    zone: str
    degree: str
    altitude_m: int
    limit_set: str
    overrides: str = ""
    limits_digest: str
    guard: str = ""
    check_every_min: int = 60
    grace_min: int = 15
    daily_copies: int = 0
    thermometer_days: int = 0
    late_reheat: str = ""
    open_hours: str = ""
    longest_closure: int = 2
    owns: str = ""
    address: str = ""
    permit: str = ""
    in_charge: str = ""
    walk: tuple[str, ...] = ()
    language: str = ""
    typeface: str = ""
    nonce: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayClosed:
    """A manager's word that the kitchen was, or will be, closed from one day to another, both in.

    Days are kitchen days [YYYY-MM-DD].
    """

    kind: ClassVar[str] = message("closed day")
    first: str
    last: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Someone who records. `role` is cook or manager; `active` is False once they have left.

    `language` is what they read at the terminal, empty for the environment's.
    """

    kind: ClassVar[str] = message("person")
    initials: str
    name: str
    role: str
    active: bool = True
    language: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermometer:
    """An instrument; `accuracy` as stated for it, such as ``2F``."""

    kind: ClassVar[str] = message("thermometer")
    label: str
    accuracy: str
    active: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermometerCheck:
    """What a thermometer showed in melting ice or boiling water.

    `expected` is what it should have shown, in its degree; `by` how that is known: ``ice``,
    ``altitude 1640 m`` or ``barometer 836 hPa``.
    """

    kind: ClassVar[str] = message("thermometer check")
    thermometer: str
    temp: str
    degree: str
    passed: bool
    expected: str = ""
    by: str = "ice"


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtSettled:
    """A manager's decision that a thermometer's readings count although a check of it failed."""

    kind: ClassVar[str] = message("thermometer decision")
    thermometer: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingUnit:
    """Where food is held, and how often it is checked [min].

    `holds` is hot, cold, egg (raw shell eggs, judged by the air around them) or frozen. `usual`
    says that food stands here unless another unit is named.
    """

    kind: ClassVar[str] = message("unit")
    name: str
    holds: str
    every_min: int
    active: bool = True
    usual: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitEmptied:
    """The unit holds no food from this moment until its next reading."""

    kind: ClassVar[str] = message("unit emptied")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedFood:
    """A food that the kitchen makes, as its HACCP plan has it.

    `steps` are those that it goes through, in order. `nature` says how it cools: open liquid,
    stirred or thick; `container` and `depth_in` in what, and how deep [in]; empty where unknown.
    `unit` is where it stands unless another is named, empty for the kitchen's usual one.
    """

    kind: ClassVar[str] = message("food")
    name: str
    food_kind: str = ""
    steps: tuple[str, ...] = ()
    nature: str = ""
    container: str = ""
    depth_in: str = ""
    active: bool = True
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OvenAccepted:
    """A local authority's written acceptance of an oven for whole roasts, in place of 3-401.11(B).

    `oven` as batches name it; `authority` wrote it, on the `letter`'s date [YYYY-MM-DD].
    """

    kind: ClassVar[str] = message("letter of acceptance")
    oven: str
    authority: str
    letter: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchOpened:
    """An amount of one food made at one time; `made_from` are the codes of earlier batches.

    `portion_of` are batches that this one is a portion of, or was put together from: what was
    measured of them before is evidence about this one too. `food_kind` picks the cooking limit.
    `ambient` marks food made from ingredients at room temperature, prepared at the entry's moment.
    `received_as` is cold, hot, frozen or egg for what came through the door; `by_law` names the law
    that lets it arrive warmer. `oven` and `weight_lb` are how a whole roast is cooked. `use_by` is
    the maker's date [YYYY-MM-DD]. `undercooked`: it is served raw or undercooked, with the advisory
    of 3-603.11; `to_order`: prepared for immediate service to an individual order, 3-403.10.
    `date_mark_exempt` is the kind by which a delivery needs no date mark, 3-501.17(F), (G).
    """

    kind: ClassVar[str] = message("batch")
    food: str
    food_kind: str = ""
    amount: str = ""
    made_from: tuple[str, ...] = ()
    ambient: bool = False
    portion_of: tuple[str, ...] = ()
    received_as: str = ""
    supplier: str = ""
    by_law: str = ""
    oven: str = ""
    weight_lb: str = ""
    use_by: str = ""
    undercooked: bool = False
    to_order: bool = False
    date_mark_exempt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One measured temperature, value and degree exactly as entered.

    `reason` says why where this corrects an earlier reading; `confirmed` that an unusual value
    was confirmed when it was entered; `paper` that it was first written on paper. `method` is how
    it was heated or held where a limit asks: microwave, initial, unsliced, 6 h, opened. `chamber`
    is what the oven showed, such as ``235F``. `next_look` is when a roast that runs on alone is to
    be looked at, as was said then; empty where nobody said.
    """

    kind: ClassVar[str] = message("reading")
    step: str
    temp: str
    degree: str
    held_s: str = "0"
    thermometer: str = ""
    note: str = ""
    confirmed: bool = False
    reason: str = ""
    paper: bool = False
    method: str = ""
    chamber: str = ""
    next_look: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """An hour's readings of one probe, as a logger's file had them: one entry for all of them.

    Each of the `readings` is its seconds after the entry's moment, a space, and the temperature as
    it stood in the file, such as ``60 38.4``; `each_reading` gives them as what people measure is
    given. `source` is the file's name, `source_digest` the SHA-256 of its bytes, `probe` what the
    file calls the probe.
    """

    kind: ClassVar[str] = message("logged readings")
    step: str
    degree: str
    readings: tuple[str, ...]
    probe: str
    source: str
    source_digest: str
    thermometer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Readings of a run are no evidence: those from `first` up to this entry's moment, both in.

    `of` is the number of the run's entry, which stays as it is; `reason` says why, such as that
    the probe lay on the bench.
    """

    kind: ClassVar[str] = message("readings left out")
    of: int
    first: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMeasured:
    """Somebody came by in a round and did not measure it. It stays due, and is missed as before."""

    kind: ClassVar[str] = message("not measured")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectiveAction:
    """What was done about a deviation, and its `cause` as far as somebody knows it; empty for none.

    9 CFR 417.3(a)(1) asks plants under inspection for the cause (from memory); of a kitchen nothing
    here depends on it.
    """

    kind: ClassVar[str] = message("corrective action")
    text: str
    cause: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """A manager's decision that a food whose limit is not shown, or not met, may be used."""

    kind: ClassVar[str] = message("release")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Discarded:
    kind: ClassVar[str] = message("discard")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryRejected:
    """What was delivered was not taken."""

    kind: ClassVar[str] = message("rejection")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Frozen:
    """The batch is frozen from this moment: its date mark stands still."""

    kind: ClassVar[str] = message("freezing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Thawed:
    """The batch is out of the freezer from this moment: its date mark goes on."""

    kind: ClassVar[str] = message("thawing")


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOut:
    """The batch was taken out of the unit that it stood in, at this moment."""

    kind: ClassVar[str] = message("taken out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """The batch was put into the entry's unit, at this moment."""

    kind: ClassVar[str] = message("moved")


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerOpened:
    """The container in which a delivery came was opened, at this moment: 3-501.17(B)."""

    kind: ClassVar[str] = message("container opened")


@dataclass(frozen=True, slots=True, kw_only=True)
class Renamed:
    """The container is called otherwise from now on; the batch's code stays what it is."""

    kind: ClassVar[str] = message("renaming")
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """A batch's measured acidity and water activity, and what the Code's tables say of them.

    `result` is non-TCS or product assessment (treated as TCS). Source: Food Code 1-201.10.
    """

    kind: ClassVar[str] = message("assessment")
    ph: str
    water_activity: str
    heat_treated: bool = False
    packaged: bool = False
    result: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Diverted:
    """Nothing of the batch is left to be served: it went to another use, which `to` names."""

    kind: ClassVar[str] = message("diversion")
    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetApart:
    """A batch that deviates stands apart, on hold, until somebody decides about it."""

    kind: ClassVar[str] = message("set apart")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedUp:
    """Nothing of the batch is left: it was served or went into another batch.

    `into` are the portions that it was divided into, or the batch that it was put together as.
    """

    kind: ClassVar[str] = message("used up")
    into: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingPlanned:
    """How a batch was planned to cool, an estimate: what was asked, and the curve it gave.

    `asked` is the question in words. `curve` has a text for each moment: minutes after the start,
    then the temperatures [°F] that 5, 50 and 95 of 100 cases are at or below, with spaces between.
    """

    kind: ClassVar[str] = message("cooling plan")
    asked: str
    curve: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingSetup:
    """What a forecast of a cooling needs to know, from this moment on: an estimate's input.

    `nature` is open liquid, stirred or thick; `air` and `air_to` are between which temperatures the
    air or bath around it is, such as ``38F``; `method` is how it is cooled. `changed` says that the
    food was stirred, moved or iced now, so that what was measured before tells only where it was.
    """

    kind: ClassVar[str] = message("cooling setup")
    nature: str = ""
    air: str = ""
    air_to: str = ""
    method: str = ""
    container: str = ""
    depth_in: str = ""
    changed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """An entry that should not have been made; it stays readable."""

    kind: ClassVar[str] = message("withdrawal")
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySigned:
    """A manager's verification of one day. `note` says why where it was signed unsettled.

    Signed in a view of several tills, `heads` has for each its name there, its last entry that was
    seen, that one's digest, and its first one's.
    """

    kind: ClassVar[str] = message("signature")
    day: str
    undecided: int
    note: str = ""
    heads: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable:
    """What stands for a body made by a newer haccp, or altered: kind and text as stored."""

    kind: str
    text: str
    why: str


Written = (
    KitchenSettings | DayClosed | Person | Thermometer | ThermometerCheck | DoubtSettled
    | HoldingUnit | UnitEmptied | PlannedFood | OvenAccepted | BatchOpened | Measured | Logged
    | LeftOut | NotMeasured | CorrectiveAction | Released | Discarded | Diverted | SetApart
    | DeliveryRejected | UsedUp | Frozen | Thawed | TakenOut | Moved | ContainerOpened | Renamed
    | Assessed | CoolingPlanned | CoolingSetup | Withdrawn | DaySigned | PinSet | Restored
    | HandedOver | ForkKept | ForkDecided | ClockMoved
)  # fmt: skip
Body = Written | Unreadable

# What says that nothing of a batch is left.
ENDS = (Discarded, DeliveryRejected, Diverted, UsedUp)

KINDS: dict[str, type[Written]] = {body.kind: body for body in get_args(Written)}


def kind_in_words(body: Body) -> str:
    """Say what kind of entry it is; of one that cannot be read, as it is stored."""
    return body.kind if isinstance(body, Unreadable) else phrase(body.kind)

"""A batch begins: opened, or received at the door."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from itertools import count, takewhile

import click

from haccp.cli.answers import answer
from haccp.cli.measure import TypedReading, checked_reading, paper_option
from haccp.cli.reading_line import in_quotes
from haccp.cli.session import Session, by_option, confirm, printable
from haccp.cli.setting import parse_code
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found, date_mark
from haccp.kitchen.lives import NOT_ANIMAL
from haccp.kitchen.naming import find_known, is_alike, is_taken, open_names
from haccp.kitchen.reading import read_batch, read_batches
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.review import undecided
from haccp.language import message, phrase
from haccp.limits.limit import HEATED, LimitSet
from haccp.phrases import at
from haccp.quantities import hundredths, parse_weight
from haccp.record.bodies import BatchOpened, DeliveryRejected, Discarded, Diverted
from haccp.record.entries import Draft
from haccp.rules.account.levels import EGGS, RECEIVING_LIMIT
from haccp.rules.asked import goal
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import WHOLE_ROAST, Step, Verdict
from haccp.rules.words import called, in_short
from haccp.signs import folded
from haccp.temperature import Degree
from haccp.time import clock, day_and_clock, is_about_time, parse_day, parse_when, short_day

undercooked_option = click.option(
    "--undercooked", is_flag=True, help="Served raw or undercooked, with the advisory of 3-603.11."
)
to_order_option = click.option(
    "--to-order", is_flag=True, help="For immediate service to an individual order, 3-403.10."
)

_OVENS = ("still dry", "convection", "high humidity", "none")


@click.command()
@click.argument("food")
@click.argument("when", nargs=-1)
@click.option("--code", help="What to call it; default: the food and the date.")
@click.option(
    "--kind",
    default="",
    help="Its kind, where a limit depends on it: poultry, ...; default: as haccp add food has it.",
)
@click.option("--amount", default="", help="How much, such as '12 gal'.")
@click.option(
    "--from", "made_from", multiple=True, metavar="BATCH", help="What went into it; repeat."
)
@click.option("--ambient", is_flag=True, help="From ingredients at room temperature, 3-501.14(B).")
@click.option("--oven", type=click.Choice(_OVENS), help="A whole roast's oven, 3-401.11(B).")
@click.option("--weight", help="A whole roast's weight, such as 14lb or 6kg.")
@undercooked_option
@to_order_option
@click.option("--yes", is_flag=True, help="Although one is open, or it is made from what deviates.")
@by_option
@click.pass_obj
def batch(
    session: Session,
    food: str,
    when: tuple[str, ...],
    code: str | None,
    kind: str,
    amount: str,
    made_from: tuple[str, ...],
    ambient: bool,
    oven: str | None,
    weight: str | None,
    undercooked: bool,
    to_order: bool,
    yes: bool,
    by: str | None,
) -> None:
    """Open a batch.

    haccp batch "bean stew" --amount "12 gal"
    """
    person, register = session.by(by), session.register
    _refuse_loose_words(food, when, "batch")
    moment = parse_when(" ".join(when), session.now, register.zone)
    if not code:
        _ask_whether_another(food, session, yes=yes)
    body = BatchOpened(
        food=printable(food, phrase("The food's name"), 80),
        food_kind=_kind(kind, food, moment, session, by),
        amount=amount_of(amount),
        made_from=_codes(made_from, session),
        ambient=ambient,
        undercooked=undercooked,
        to_order=to_order,
    )
    if body.food_kind == WHOLE_ROAST:
        body = replace(body, oven=_oven(oven), weight_lb=_pounds(oven, weight, register.degree))
    elif oven or weight:
        told = message("--oven and --weight are for a whole roast: add --kind 'whole roast'.")
        raise Refused(phrase(told))
    _may_be_used(body.made_from, moment, session, yes=yes)
    named = new_code(session, code, food, moment)
    session.append(Draft(body=body, at=moment, person=person.initials, batch=named))
    opened_at = at(clock(moment, register.zone))
    say(phrase("Opened {food} as {code} {at}.", food=body.food, code=named, at=opened_at))
    tell_mark(session, named)


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("food")
@click.argument("temp")
@click.argument("when", nargs=-1)
@click.option(
    "--as",
    "received_as",
    type=click.Choice([*RECEIVING_LIMIT]),
    default="cold",
    show_default=True,
    help="In what state it comes; eggs by the air around them.",
)
@click.option("--code", help="What to call it; default: the food and the date.")
@click.option("--kind", default="", help="Its kind, where a limit depends on it.")
@click.option("--amount", default="", help="How much, such as '60 lb'.")
@click.option("--supplier", default="", help="Who brought it.")
@click.option("--by-law", default="", help="The law that lets it arrive above the limit, if any.")
@click.option("--use-by", default="", metavar="DAY", help="The maker's date, if set for safety.")
@click.option(
    "--date-mark-exempt",
    "exempt",
    default="",
    metavar="KIND",
    help=f"Needs no date mark, 3-501.17(F), (G): {', '.join(EXEMPT)}.",
)
@undercooked_option
@click.option("--thermometer", envvar="HACCP_THERMOMETER", help="If not the kitchen's first.")
@click.option("--note", default="", help="A few words to print beside the reading.")
@click.option("--yes", is_flag=True, help="An unusual value is right.")
@paper_option
@by_option
@click.pass_obj
def receive(
    session: Session,
    food: str,
    temp: str,
    when: tuple[str, ...],
    received_as: str,
    code: str | None,
    kind: str,
    amount: str,
    supplier: str,
    by_law: str,
    use_by: str,
    exempt: str,
    undercooked: bool,
    thermometer: str | None,
    note: str,
    yes: bool,
    paper: bool,
    by: str | None,
) -> None:
    """Take a delivery: open it as a batch with its temperature at the door (3-202.11).

    haccp receive "beef shoulder" 38 --amount "60 lb"
    """
    person, register = session.by(by), session.register
    if by_law and received_as != "cold":
        told = message("Only cold food may by law arrive warmer (3-501.14(C)): leave --by-law out.")
        raise Refused(phrase(told))
    _refuse_loose_words(food, (temp, *when), "receive")
    moment = parse_when(" ".join(when), session.now, register.zone)
    body = BatchOpened(
        food=printable(food, phrase("The food's name"), 80),
        food_kind=_kind(kind, food, moment, session, by),
        amount=amount_of(amount),
        received_as=received_as,
        supplier=printable(supplier, phrase("The supplier"), 80) if supplier else "",
        by_law=printable(by_law, phrase("The law"), 80) if by_law else "",
        use_by=_future_day(use_by, session) if use_by else "",
        undercooked=undercooked,
        date_mark_exempt=exempt.lower(),
    )
    if exempt:
        _refuse_unless_exempt(body, register.limits_at(moment))
    if received_as == "egg" and body.food_kind not in EGGS:
        told = message("--as egg is for raw shell eggs, not for {kind}: leave it out.")
        raise Refused(phrase(told, kind=body.food_kind))
    named = new_code(session, code, food, moment)
    opened = Draft(body=body, at=moment, person=person.initials, batch=named)
    typed = TypedReading(temp=temp, thermometer=thermometer, note=note, yes=yes, paper=paper)
    measured, _ = checked_reading(session, typed, Step.RECEIVE, moment, body)
    reading = Draft(body=measured, at=moment, person=person.initials, batch=named)
    session.append(opened, reading)
    subject = read_batch(session.record, named)
    answer(subject, reading_of(subject.readings[-1], register), (), session)
    if exempt:
        tell_mark(session, named)


def _refuse_loose_words(food: str, rest: Sequence[str], command: str) -> None:
    """Refuse a food's name of several words without quotes: a word more may be a slip of a time."""
    loose = list(takewhile(lambda word: word.isalpha() and not is_about_time(word), rest))
    after = rest[len(loose) :]
    if loose and (after or command == "batch"):
        name = in_quotes(" ".join((food, *loose)))
        raise Refused(
            phrase(
                "A name of several words stands in quotes: {line}",
                line=" ".join(("haccp", command, name, *after)),
            )
        )


def _ask_whether_another(food: str, session: Session, *, yes: bool) -> None:
    """Ask before a batch is opened of a food that is open already, or one called as a unit is."""
    units = [unit for unit in session.register.units_in_use if is_alike(unit, food)]
    if units:
        told = phrase(
            "{unit} is a unit: to log what it shows, type haccp hold {unit} TEMP.", unit=units[0]
        )
        confirm(told, yes=yes)
    opened = open_names(session.record).foods
    there = [code for code, body in opened.items() if is_alike(body.food, food)]
    if there:
        told = phrase("A batch of {food} is open already: {code}.", food=food, code=there[0])
        confirm(told, yes=yes)


def _refuse_unless_exempt(body: BatchOpened, limits: LimitSet) -> None:
    """Refuse an exemption from date marking that the limits in force do not give the food."""
    kind, citation = body.date_mark_exempt, limits.get("date-mark").citation
    if kind not in EXEMPT:
        told = message("{kind} is no kind that 3-501.17 exempts: type one of {kinds}.")
        raise Refused(phrase(told, kind=repr(kind), kinds=", ".join(EXEMPT)))
    if not citation.startswith("3-501.17"):
        told = message(
            "The date mark is by {citation} here, whose exemptions nobody has read: leave "
            "--date-mark-exempt out."
        )
        raise Refused(phrase(told, citation=citation))
    if body.received_as not in ("cold", "frozen"):
        told = message("Food that comes as {state} is not exempt: leave --date-mark-exempt out.")
        raise Refused(phrase(told, state=body.received_as))
    if body.food_kind not in NOT_ANIMAL and kind != "shellstock":
        told = message(
            "{kind} is raw until it is cooked here, and no {exempt}: leave --kind out, or "
            "--date-mark-exempt."
        )
        raise Refused(phrase(told, kind=body.food_kind, exempt=kind))


def _kind(kind: str, food: str, at: datetime, session: Session, by: str | None) -> str:
    """Take the kind that was named, or that the food has in the kitchen's plan.

    The stronger kind wins: one whose row asks less than the plan's is a manager's to choose.
    """
    register = session.register
    limits = register.limits_at(at)
    plans = {folded(one.name): one.food_kind for one in register.foods.values()}
    planned = plans.get(folded(food), "")
    kind = kind or planned
    if kind and kind not in limits.kinds:
        told = message("{kind} is no kind of food here: type one of {kinds}.")
        raise Refused(phrase(told, kind=repr(kind), kinds=", ".join(limits.kinds)))
    if planned and planned != kind and _asks_less(kind, planned, limits):
        if session.by(by).role != "manager":
            told = message(
                "{food} is {planned} in the kitchen's plan, and {kind} asks less: leave --kind "
                "out, or a manager opens it with --by."
            )
            raise Refused(phrase(told, food=food, planned=planned, kind=kind))
        session.manager(by)
    return kind


def _asks_less(kind: str, planned: str, limits: LimitSet) -> bool:
    """Whether something keeps the cooking or reheating row of a kind, and not of another one."""
    from haccp.limits.compare import difference

    return any(
        difference(limits.get(name, planned), limits.get(name, kind), timedelta(0)).weaker
        for name in HEATED
    )


def amount_of(text: str) -> str:
    return printable(text, phrase("The amount"), 40) if text else ""


def _codes(names: Sequence[str], session: Session) -> tuple[str, ...]:
    return tuple(dict.fromkeys(find_known(name, session.record, ()) for name in names))


def _may_be_used(codes: Sequence[str], moment: datetime, session: Session, *, yes: bool) -> None:
    """Refuse food that was thrown away or is under time control; ask about what is undecided.

    Its clocks run on in what is made from it. A part that was just used up counts as it stood
    before.
    """
    register, now = session.register, session.now
    for part in read_batches(session.record, codes):
        end = part.end
        if (
            end
            and isinstance(end.body, Discarded | DeliveryRejected | Diverted)
            and end.at <= moment
        ):
            when = at(day_and_clock(end.at, now, register.zone))
            told = message("{title} was {fate} {at}: nothing is made from it.")
            raise Refused(phrase(told, title=part.title, fate=part.fate, at=when))
        there = replace(part, entries=tuple(one for one in part.entries if one != end))
        for one in (*there.judged(register, moment), *there.judged(register, now)):
            if one.verdict is Verdict.OPEN and one.step is Step.TIME_CONTROL:
                told = message(
                    "{title} is under time as a control ({citation}), whose clock would not run "
                    "on in what is made from it: serve or use it by itself."
                )
                raise Refused(phrase(told, title=part.title, citation=one.limit.citation))
        ask_undecided(there, session, yes=yes)
        clock = partial(day_and_clock, now=now, zone=register.zone)
        open_now = [one for one in there.judged(register, now) if one.verdict is Verdict.OPEN]
        for one in [one for one in open_now if one.step is Step.COOL][:1]:
            told = message(
                "{title} is still cooling ({goal}): its clock runs on in what is made from it."
            )
            confirm(phrase(told, title=part.title, goal=goal(one, clock)), yes=yes)


def ask_undecided(batch: BatchOnRecord, session: Session, *, yes: bool) -> None:
    """Ask before food is served, divided or put into other food that deviated."""
    register, now = session.register, session.now
    found = all_found(batch, session.record, register, now)
    left = next(undecided(batch, found, register), None)
    if left:
        why = in_short(left, partial(day_and_clock, now=now, zone=register.zone))
        told = message("{title} is {verdict} and nobody decided: {why}")
        verdict = called(left.verdict)
        confirm(phrase(told, title=batch.title, verdict=verdict, why=why), yes=yes)


def _oven(oven: str | None) -> str:
    if oven is None:
        raise Refused(
            phrase(
                "A whole roast says how it is cooked (3-401.11(B)): add --oven 'still dry', "
                "convection or 'high humidity' and --weight 14lb, or --oven none."
            )
        )
    return oven


def _pounds(oven: str | None, weight: str | None, degree: Degree) -> str:
    """Read a roast's weight [lb]; an oven whose limit depends on it needs one."""
    if weight is None:
        if oven in ("still dry", "convection"):
            told = message("This oven's limit depends on the roast's weight: add --weight 14lb.")
            raise Refused(phrase(told))
        return ""
    return hundredths(parse_weight(weight, degree))


def _future_day(text: str, session: Session) -> str:
    return parse_day(text, session.now, session.register.zone).isoformat()


def new_code(session: Session, code: str | None, food: str, at: datetime) -> str:
    if code:
        told = message("{name} exists already: type another code with --code.")
        refuse_taken(code, session, told)
        return parse_code(code)
    return _code(food, f"{at.astimezone(session.register.zone):%m%d}", session)


def refuse_taken(code: str, session: Session, told: str) -> None:
    """Refuse a name that reads like another's: a name typed must mean one thing."""
    known = is_taken(code, session.record, session.register)
    if known:
        raise Refused(phrase(told, name=known))


def _code(food: str, day: str, session: Session) -> str:
    """Make a code that can be typed: the food's letters and the day, and a number if need be."""
    plain = unicodedata.normalize("NFKD", food).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:30].strip("-") or "batch"
    codes = (f"{stem}-{day}" if n == 1 else f"{stem}-{day}-{n}" for n in count(1))
    return next(code for code in codes if not is_taken(code, session.record, session.register))


def tell_mark(session: Session, name: str) -> None:
    """Tell the last day of a batch, that it is over, or why it has none."""
    now, register = session.now, session.register
    mark = date_mark(session.record, register, name, now)
    exempt = EXEMPT.get(read_batch(session.record, name).batch.date_mark_exempt)
    if mark and mark < now.astimezone(register.zone).date():
        told = message("Its date mark was {day}: its days are over, discard it (3-501.18).")
        say(phrase(told, day=short_day(mark)))
    elif mark:
        say(phrase("Date mark: use by {day} (3-501.17).", day=short_day(mark)))
    elif exempt:
        say(phrase("No date mark: {exempt}. What is made of it is marked.", exempt=exempt))

"""Thermometers: `ice`, `boil`, `trust`."""

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

import click

from haccp.cli.reading_line import Line, Typed
from haccp.cli.session import Session, by_option, confirm, given
from haccp.cli.terminal import say
from haccp.cli.typing_slips import boiling_at, hint
from haccp.errors import Refused
from haccp.kitchen.naming import find
from haccp.language import message, phrase
from haccp.record.bodies import DoubtSettled, ThermometerCheck
from haccp.record.entries import Draft
from haccp.rules.slips import Why, find_bath_slip
from haccp.rules.thermometer import ICE_POINT, boiling_point, parse_barometer, passes, pressure_at
from haccp.temperature import Level, Temperature, parse_temperature
from haccp.time import parse_when


class _Bath(NamedTuple):
    """What a thermometer stands in: what it must show, by what, as recorded and as told."""

    expected: Level
    source: str
    told: str


_ICE = _Bath(ICE_POINT, "ice", "")

_yes = click.option("--yes", is_flag=True, help="An unusual value is right.")


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("words", nargs=-1, metavar="THERMOMETER TEMP [WHEN]")
@_yes
@by_option
@click.pass_obj
def ice(session: Session, words: tuple[str, ...], yes: bool, by: str | None) -> None:
    """Record what a thermometer shows in melting ice.

    haccp ice T1 33F
    """
    typed, at = _typed(session, words, "ice")
    _check(session, typed, at, by, _ICE, yes=yes)


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("words", nargs=-1, metavar="THERMOMETER TEMP [WHEN]")
@click.option(
    "--barometer",
    metavar="PRESSURE",
    help="The air pressure here, such as 836hPa or 24.7inHg; default: by the kitchen's altitude.",
)
@_yes
@by_option
@click.pass_obj
def boil(
    session: Session,
    words: tuple[str, ...],
    barometer: str | None,
    yes: bool,
    by: str | None,
) -> None:
    """Record what a thermometer shows in boiling water.

    haccp boil T1 202F
    """
    typed, at = _typed(session, words, "boil")
    altitude = session.register.kitchen_at(at).altitude_m
    pressure = parse_barometer(barometer, altitude) if barometer else pressure_at(altitude)
    if barometer:
        source = f"barometer {barometer}"
        told = phrase("barometer {pressure}", pressure=barometer)
    else:
        source = f"altitude {altitude} m"
        told = phrase("altitude {number} m", number=altitude)
    _check(session, typed, at, by, _Bath(boiling_point(pressure), source, told), yes=yes)


@click.command()
@click.argument("label", metavar="THERMOMETER")
@click.argument("reason", required=False)
@by_option
@click.pass_obj
def trust(session: Session, label: str, reason: str | None, by: str | None) -> None:
    """Let a thermometer's readings count although a check of it failed (a manager).

    haccp trust-thermometer T2 "read beside T1 at 14:06: 0.3 °F apart"
    """
    found = find(label, list(session.register.thermometers), "thermometer")
    if all(
        check.passed
        for _, check in session.register.checks_of(found, session.register.settings[0].at)
    ):
        told = message("No check of {label} failed: there is nothing to decide.")
        raise Refused(phrase(told, label=found))
    why = given(reason, f'haccp trust-thermometer {found} "..."')
    manager = session.manager(by)
    body = DoubtSettled(thermometer=found, reason=why)
    session.append(Draft(body=body, at=session.now, person=manager.initials), as_seen=True)
    told = message("Readings of {label} count again; the failed check and the reason are printed.")
    say(phrase(told, label=found))


def _typed(session: Session, words: Sequence[str], command: str) -> tuple[Typed, datetime]:
    """Read a thermometer, what it shows and when; raises Refused with what to type."""
    names = {label: label for label in session.register.thermometers}
    zone = session.register.zone
    typed = Line(words, command, names, "thermometer").read(session.now, zone)
    return typed, parse_when(typed.when, session.now, zone)


def _check(
    session: Session,
    typed: Typed,
    at: datetime,
    by: str | None,
    bath: _Bath,
    *,
    yes: bool,
) -> None:
    expected, source, by_what = bath
    person, register = session.by(by), session.register
    found = find(typed.name, list(register.thermometers), "thermometer")
    shown = parse_temperature(typed.temp, register.degree)
    _ask_about(session, shown, typed.temp, at, found, expected, yes=yes)
    accuracy = register.limits_at(at).get("thermometer-accuracy")
    body = ThermometerCheck(
        thermometer=found,
        temp=str(shown.value),
        degree=shown.degree,
        passed=passes(shown, expected, accuracy),
        expected="" if source == "ice" else str(expected.number(shown.degree)),
        by=source,
    )
    session.append(Draft(body=body, at=at, person=person.initials))
    told = {"label": found, "temp": shown, "citation": accuracy.citation}
    wanted = f"{expected.number(shown.degree)} °{shown.degree}"
    if source == "ice" and body.passed:
        say(phrase("OK {label} {temp} in ice ({citation}).", **told))
    elif source == "ice":
        words = message("FAILED {label} {temp} in ice, must be {wanted} ({citation}).")
        say(phrase(words, wanted=wanted, **told))
    elif body.passed:
        words = message("OK {label} {temp} in boiling water of {wanted}, by {source} ({citation}).")
        say(phrase(words, wanted=wanted, source=by_what, **told))
    else:
        words = message(
            "FAILED {label} {temp} in boiling water of {wanted}, by {source} ({citation})."
        )
        say(phrase(words, wanted=wanted, source=by_what, **told))
    if not body.passed:
        say(
            phrase(
                "Now: use another one. What this one measured since its last good check is not"
                " proven: haccp due"
            )
        )


def _ask_about(
    session: Session,
    shown: Temperature,
    typed: str,
    at: datetime,
    label: str,
    expected: Level,
    *,
    yes: bool,
) -> None:
    """Ask where a check looks typed wrong; raises Refused for one of the other water."""
    in_ice = expected == ICE_POINT
    other_water = boiling_at(at, session.register) if in_ice else ICE_POINT
    slip = find_bath_slip(
        shown, expected, other_water, degree_typed=not typed.strip()[-1:].isdigit()
    )
    if slip and slip.why is Why.OTHER_WATER:
        told = (
            message(
                "{temp} is what boiling water shows: if it stood in that, type haccp boil {label} "
                "{typed}."
            )
            if in_ice
            else message(
                "{temp} is what melting ice shows: if it stood in that, type haccp ice {label} "
                "{typed}."
            )
        )
        typed = f"{shown.value}{shown.degree}"
        raise Refused(phrase(told, temp=shown, label=label, typed=typed))
    if slip and slip.is_impossible:
        told = (
            message("No thermometer shows {temp} in ice: type what it shows.")
            if in_ice
            else message("No thermometer shows {temp} in boiling water: type what it shows.")
        )
        raise Refused(phrase(told, temp=shown))
    if slip:
        hints = "; ".join(hint(one, shown, typed) for one in slip.meant)
        told = (
            message("{temp} in ice is far off: {hints}.")
            if in_ice
            else message("{temp} in boiling water is far off: {hints}.")
        )
        confirm(phrase(told, temp=shown, hints=hints), yes=yes)

"""`haccp kitchen`: a kitchen's settings, shown and changed."""

from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import click

from haccp import limits
from haccp.catalogs import LANGUAGES
from haccp.cli import terminal
from haccp.cli.boundary import system_says
from haccp.cli.session import Session, by_option, printable
from haccp.cli.setting import known_limit_set
from haccp.equipment import parse_equipment
from haccp.errors import Refused
from haccp.kitchen.naming import find
from haccp.kitchen.register import Register, limits_of
from haccp.language import message, phrase
from haccp.limits.loader import take_overrides
from haccp.opening_hours import parse_hours
from haccp.quantities import parse_altitude
from haccp.record.bodies import KitchenSettings
from haccp.record.entries import Draft
from haccp.record.places import file_of
from haccp.temperature import Degree, parse_temperature
from haccp.time import zone_typed


@click.command()
@click.option("--name", metavar="NAME", help="What it is called from now on.")
@click.option("--zone", help="Its time zone from now on; earlier days keep theirs.")
@click.option("--altitude", help="Above the sea, from now on: 1640m or 5380ft.")
@click.option("--degree", type=click.Choice([*Degree]))
@click.option(
    "--check-every",
    type=click.IntRange(5, 1440),
    metavar="MINUTES",
    help="How often food in the kitchen's care is checked.",
)
@click.option(
    "--grace",
    type=click.IntRange(0, 120),
    metavar="MINUTES",
    help="How late a check may be before it is missed.",
)
@click.option(
    "--limit-set", metavar="SET", help="Judge by another set from now on; see haccp limits list."
)
@click.option(
    "--limits",
    "overrides",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A file of local limits (TOML) to lay over the set's.",
)
@click.option(
    "--daily-copies", type=click.IntRange(0, 400), help="Keep so many daily backups beside it."
)
@click.option(
    "--thermometer-days",
    type=click.IntRange(0, 400),
    metavar="DAYS",
    help="How often a thermometer is checked; 0 for no fixed interval.",
)
@click.option(
    "--late-reheat",
    metavar="CODE",
    help="The local code by which a cooling that missed 70 °F may be reheated once; '' for none.",
)
@click.option(
    "--open",
    "open_hours",
    metavar="HOURS",
    help="Its opening hours: 'mon-sat 06:00-20:00; sun 08:00-14:00'; '' for never closed.",
)
@click.option(
    "--longest-closure",
    type=click.IntRange(0, 30),
    metavar="DAYS",
    help="While it is closed for longer, cold food is checked all the same.",
)
@click.option(
    "--owns",
    metavar="EQUIPMENT",
    help="What it has to cool food with: 'ice bath, ice wand, freezer, 2-inch pans'; also blast "
    "chiller, fan (moved air), ice; '' for not said.",
)
@click.option("--address", metavar="TEXT", help="Where it is, for its papers; '' for none.")
@click.option("--permit", metavar="NUMBER", help="Its permit's number, for its papers.")
@click.option("--in-charge", metavar="NAME", help="The person in charge (2-101.11), for papers.")
@click.option(
    "--walk",
    metavar="UNITS",
    help="Its units as a round passes them: 'well-1, well-2, walk-in'; '' for as last time.",
)
@click.option("--language", type=click.Choice([*LANGUAGES]), help="What its papers are in.")
@click.option(
    "--typeface",
    metavar="FILE",
    help="A font file for letters that haccp's own typefaces lack; '' for none.",
)
@click.option("--no-local-limits", is_flag=True, help="The set's limits alone again.")
@click.option(
    "--guard", metavar="DEGREES", help="Move every limit inward, such as by 1F; 0 ends it."
)
@by_option
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def kitchen(
    session: Session,
    name: str | None,
    zone: str | None,
    altitude: str | None,
    degree: str | None,
    check_every: int | None,
    grace: int | None,
    limit_set: str | None,
    overrides: Path | None,
    daily_copies: int | None,
    thermometer_days: int | None,
    late_reheat: str | None,
    open_hours: str | None,
    longest_closure: int | None,
    owns: str | None,
    address: str | None,
    permit: str | None,
    in_charge: str | None,
    walk: str | None,
    language: str | None,
    typeface: str | None,
    no_local_limits: bool,
    guard: str | None,
    by: str | None,
    json_: bool,
) -> None:
    """Show the kitchen's settings, or change them from now on (a manager)."""
    if daily_copies:
        file_of(session.path)
    old = session.register.kitchen
    chosen = {
        "name": name if name is None else printable(name, phrase("The kitchen's name")),
        "zone": zone if zone is None else zone_typed(zone).key,
        "altitude_m": altitude if altitude is None else parse_altitude(altitude),
        "degree": degree,
        "check_every_min": check_every,
        "grace_min": grace,
        "daily_copies": daily_copies,
        "thermometer_days": thermometer_days,
        "late_reheat": _cited(late_reheat),
        "open_hours": open_hours and _hours(open_hours),
        "longest_closure": longest_closure,
        "owns": owns and _equipment(owns),
        "address": address and printable(address, phrase("The address")),
        "permit": permit and printable(permit, phrase("The permit's number")),
        "in_charge": in_charge and printable(in_charge, phrase("The name of the person in charge")),
        "walk": walk if walk is None else _walk(walk, session.register),
        "language": language,
        "typeface": typeface and _typeface(typeface),
        "limit_set": limit_set and known_limit_set(limit_set),
        "overrides": ""
        if no_local_limits
        else _local_limits(overrides, limit_set or old.limit_set),
        "guard": _guard(guard, session),
    }
    changed: dict[str, Any] = {key: value for key, value in chosen.items() if value is not None}
    new = replace(old, **changed)
    if changed:
        newest = limits_of(new.limit_set, new.overrides, new.guard)
        new = replace(new, limits_digest=newest.digest)
    in_force = limits_of(new.limit_set, new.overrides, new.guard, new.limits_digest)
    if new != old:
        person = session.manager(by)
        session.append(Draft(body=new, at=session.now, person=person.initials), as_seen=True)
    if json_:
        terminal.as_json({**asdict(new), "limits": terminal.limit_set(in_force)})
        return
    _tell_kitchen(new)
    terminal.say(terminal.judged_by(in_force))
    if new.zone != old.zone:
        terminal.say(phrase("Earlier days keep their clock and their midnights."))
    if new.limits_digest != old.limits_digest:
        terminal.say(
            phrase("These limits are in force from now on; what began earlier stays as judged.")
        )


def _tell_kitchen(new: KitchenSettings) -> None:
    terminal.say(
        phrase(
            "{name}: {zone}, °{degree}, {altitude} m above the sea.",
            name=new.name,
            zone=new.zone,
            degree=new.degree,
            altitude=new.altitude_m,
        )
    )
    terminal.say(
        phrase(
            "Checked every {minutes} min; a check is missed {grace} min later.",
            minutes=new.check_every_min,
            grace=new.grace_min,
        )
    )
    if new.thermometer_days:
        told = phrase("Thermometers are checked every {days} d.", days=new.thermometer_days)
        terminal.say(told)
    if new.late_reheat:
        terminal.say(
            phrase(
                "A cooling that missed stage 1 may be reheated once: {code}.", code=new.late_reheat
            )
        )
    if new.open_hours:
        terminal.say(
            phrase(
                "Open {hours}; closed for more than {days} d, cold food is checked all the same.",
                hours=new.open_hours,
                days=new.longest_closure,
            )
        )
    for line in _on_papers(new):
        terminal.say(line)
    if new.owns:
        terminal.say(phrase("To cool food it has: {things}.", things=new.owns))
    if new.walk:
        terminal.say(phrase("A round passes: {units}.", units=", ".join(new.walk)))
    if new.typeface:
        terminal.say(_told_of_typeface(new.typeface))
    if new.language:
        terminal.say(phrase("Its papers are in this language: {code}.", code=new.language))


def _on_papers(new: KitchenSettings) -> Iterator[str]:
    """Tell what stands on its papers beside its name."""
    if new.address:
        yield phrase("Address: {address}.", address=new.address)
    if new.permit:
        yield phrase("Permit number: {permit}.", permit=new.permit)
    if new.in_charge:
        yield phrase("Person in charge: {name}.", name=new.in_charge)


def _typeface(text: str) -> str:
    """Take a font file; raises Refused where type cannot be set with it, or it adds nothing."""
    from haccp.printing.typefaces import NoFontError, added_by
    from haccp.printing.typeset import is_set_with

    path = Path(text).expanduser().resolve()
    try:
        added = added_by(path)
        if not added:
            told = message("{file} adds no letters to haccp's own typefaces: it is not needed.")
            raise Refused(phrase(told, file=text))
        if not is_set_with(path, added[0]):
            raise NoFontError(path)
    except OSError as error:
        told = message("{file} cannot be read: {why}.")
        raise Refused(phrase(told, file=text, why=system_says(error))) from None
    except NoFontError:
        told = message(
            "{file} is no font that papers can be set in beside haccp's own: name another .ttf, "
            ".otf or .ttc."
        )
        raise Refused(phrase(told, file=text)) from None
    return printable(str(path), phrase("The font file's name"), 400)


def _told_of_typeface(named: str) -> str:
    """Say what a kitchen's own font file adds, by the scripts' names in Unicode."""
    from haccp.printing.typefaces import NoFontError, added_by, scripts_of

    try:
        added = added_by(Path(named))
    except (OSError, NoFontError):
        told = message(
            "CAUTION: the font file {file} is not here: what only it has cannot be printed."
        )
        return phrase(told, file=named)
    told = message("Letters that others lack are from {file}: {scripts}.")
    return phrase(told, file=named, scripts=", ".join(scripts_of(added)))


def _cited(code: str | None) -> str | None:
    return printable(code, phrase("The local code")) if code else code


def _hours(text: str) -> str:
    parse_hours(text)
    return " ".join(text.lower().split())


def _equipment(text: str) -> str:
    parse_equipment(text)
    return ", ".join(" ".join(part.split()) for part in text.lower().split(","))


def _walk(text: str, register: Register) -> tuple[str, ...]:
    units = [
        find(name, register.units_in_use, "unit")
        for name in map(str.strip, text.split(","))
        if name
    ]
    twice = next((name for name in units if units.count(name) > 1), None)
    if twice:
        raise Refused(phrase("The walk passes {unit} twice: type it once.", unit=twice))
    return tuple(units)


def _local_limits(path: Path | None, limit_set: str) -> str | None:
    """Read a kitchen's limits file; raises Refused where it cannot be laid over the set."""
    if path is None:
        return None
    text = limits.decoded(path.read_bytes(), path.name)
    take_overrides(limits.shipped(limit_set), text, path.name)
    return text


def _guard(text: str | None, session: Session) -> str | None:
    if text is None:
        return None
    band = parse_temperature(text, session.register.degree)
    return f"{band.value}{band.degree}" if band.value else ""

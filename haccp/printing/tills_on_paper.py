"""What a paper of several tills says of them: whose entries it shows, up to where, and when."""

from textwrap import wrap

from haccp.language import message, phrase
from haccp.printing.report_context import Sheet
from haccp.record.tills import Till, disagreements_of, tells_apart, tills_of


def told(sheet: Sheet) -> list[str]:
    """Say at the head which entry of each till is its last here; nothing where there is one."""
    tills = tills_of(sheet.record)
    if not tills:
        return []
    words = message("{till} up to no. {number} ({digest}), seen until {time}")
    shown = [
        phrase(
            words,
            till=one.name,
            number=one.number,
            digest=" ".join(wrap(one.digest[:16], 8)),
            time=sheet.day_and_clock(min(one.seen_at, sheet.printed)),
        )
        for one in tills
    ]
    told = [phrase("A view of the records of {tills}.", tills="; ".join(shown))]
    if tells_apart(sheet.record):
        told.append(
            phrase(
                "A name that ends in a till's is of that till: another has its own of that name."
            )
        )
    differing = [one.words for one in disagreements_of(sheet.record)]
    if differing:
        told.append(phrase("The tills do not say the same. {what}", what=" ".join(differing)))
    return [*told, *map(_missing, _unseen(tills, sheet))]


def in_short(sheet: Sheet) -> str:
    """Say for the foot of each page until when a till was seen that could not be reached."""
    return ", ".join(
        phrase("{till} until {time}", till=one.name, time=sheet.day_and_clock(one.seen_at))
        for one in _unseen(tills_of(sheet.record), sheet)
    )


def _unseen(tills: list[Till], sheet: Sheet) -> list[Till]:
    return [one for one in tills if one.seen_at < sheet.printed]


def _missing(till: Till) -> str:
    return phrase("What was typed at {till} since then is not on these pages.", till=till.name)

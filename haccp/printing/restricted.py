"""What a paper says that it is a part of, or a branch from, in its head and at its feet."""

from haccp.language import counted, phrase
from haccp.printing.report_context import Sheet


def told(sheet: Sheet) -> list[str]:
    """Say what alone is shown here, so that nobody takes it for the whole; nothing of the whole."""
    only = sheet.only
    if only.is_whole:
        return []
    return [
        phrase(
            "Part of the record only: {parts}. Nothing else of these days is shown or judged here.",
            parts="; ".join(_parts(sheet)),
        )
    ]


def in_short(sheet: Sheet) -> str:
    """Say it in a few words, for the foot of each page; nothing of the whole."""
    only = sheet.only
    if only.is_whole:
        return ""
    names = [*only.batches, *only.foods, *only.units]
    names += [phrase("thermometers")] if only.thermometers else []
    names += [phrase("coolings")] if only.cooling_log else []
    return phrase("only {names}", names=", ".join(names))


def branch(sheet: Sheet) -> str:
    """Say, at the foot of each page, that these entries are no part of the chain that counts."""
    own = [one for one in sheet.register.branches if one.is_own]
    if not own:
        return ""
    return phrase(
        "Kept beside the record: a branch that parted after no. {after}, not part of the chain",
        after=min(one.after for one in own),
    )


def _parts(sheet: Sheet) -> list[str]:
    only = sheet.only
    titles = {one.name: f"{one.batch.food} ({one.name})" for one in sheet.review.batches}
    batches = [titles[code] for code in only.batches]
    parts = [
        counted("batch {names}", "batches {names}", len(batches), names=", ".join(batches)),
        counted("food {names}", "foods {names}", len(only.foods), names=", ".join(only.foods)),
        counted("unit {names}", "units {names}", len(only.units), names=", ".join(only.units)),
    ]
    named = (batches, only.foods, only.units)
    told = [words for words, names in zip(parts, named, strict=True) if names]
    told += [phrase("the checks of thermometers")] if only.thermometers else []
    told += [phrase("coolings alone")] if only.cooling_log else []
    return told

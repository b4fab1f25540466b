"""What people see as one sign, and when two texts are the same to them, in every script."""

import unicodedata

# A longer word than that [columns] is rather many, in a script that has no spaces.
_LONG_WORD = 12


def composed(text: str) -> str:
    """Give a text in the one form that is stored: a letter and its accents as one character."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def folded(text: str) -> str:
    """Give what two texts have in common that differ by capitals, or by how they were typed."""
    return text.lower() if text.isascii() else composed(composed(text).casefold())


def clusters(text: str) -> list[str]:
    """Part a text into signs: each character with the marks that are set upon it.

    A mark that has nothing to stand on is a sign of its own.
    """
    if text.isascii():
        return list(text)
    found: list[str] = []
    for sign in text:
        if found and is_mark(sign) and unicodedata.category(found[-1][0])[0] not in "CZ":
            found[-1] += sign
        else:
            found.append(sign)
    return found


def is_mark(sign: str) -> bool:
    """Whether a character is set upon the one before it."""
    return unicodedata.category(sign)[0] == "M"


def columns(text: str) -> int:
    """Say how many columns of a terminal a text fills: an East Asian character two, a mark none."""
    return len(text) if text.isascii() else sum(map(_columns_of, text))


def _columns_of(sign: str) -> int:
    # the vowels and finals of a Korean syllable stand in the square of its first letter
    if unicodedata.category(sign) in ("Mn", "Me", "Cf") or "\u1160" <= sign <= "\u11ff":
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def padded(text: str, room: int) -> str:
    """Fill a text up to so many columns."""
    return text + " " * (room - columns(text))


def shortened(text: str, room: int) -> str:
    """Shorten to so many columns: between words, or between signs where words have no spaces."""
    from textwrap import shorten

    line = " ".join(text.split())
    if line.isascii() or columns(line) <= room:
        return shorten(line, max(room, 2), placeholder=" …")
    kept = ""
    for sign in clusters(line):
        if columns(kept + sign) > room - 2:
            break
        kept += sign
    words, _, last = kept.rpartition(" ")
    whole = words if words and columns(last) < _LONG_WORD else kept
    return f"{whole.rstrip()} …"

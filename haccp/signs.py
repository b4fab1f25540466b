"""What people see as one sign, and when two texts are the same to them, in every script."""

import unicodedata
from functools import cache

# Join_Control (Unicode, PropList.txt): the zero-width non-joiner and joiner.
_NON_JOINER, _JOINER = "\u200c", "\u200d"
_VIRAMA = 9  # the canonical combining class of what silences a letter's vowel
# The presentation forms of Arabic letters: how each is written where it joins its neighbours.
_FORMS = (*range(0xFB50, 0xFE00), *range(0xFE70, 0xFEFD))

# A longer word than that [columns] is rather many, in a script that has no spaces.
_LONG_WORD = 12


def composed(text: str) -> str:
    """Give a text in the one form that is stored: a letter and its accents as one character."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def folded(text: str) -> str:
    """Give what two texts have in common that differ by capitals, or by how they were typed."""
    if text.isascii():
        return text.lower()
    # a word is the same whether or not somebody's keyboard has what parts its letters
    plain = text.replace(_NON_JOINER, "").replace(_JOINER, "")
    return composed(composed(plain).casefold())


def is_spelling(text: str, place: int) -> bool:
    """Whether a joiner stands at a place where its script spells words with it, and is seen there.

    A non-joiner between two letters that would join, as in Persian, or after a virama and before a
    letter, as in Hindi; a joiner after a virama, and before no vowel sign; the letters around it of
    one script. Elsewhere two texts that look the same would differ by it.
    Source: RFC 5892 appendix A.1 and A.2 (Joining_Type, Canonical_Combining_Class = Virama); the
    letter and the one script: Unicode L2/06-353, which UAX #31 2.3.1 A1, A2 and B go back to.
    """
    if text[place] not in (_NON_JOINER, _JOINER):
        return False
    before = text[:place].rstrip("".join(filter(is_mark, text[:place])))[-1:]
    rest = text[place + 1 :]
    after = rest.lstrip("".join(filter(is_mark, rest)))[:1]
    silent = place > 0 and unicodedata.combining(text[place - 1]) == _VIRAMA
    if not before.isalpha() or (after.isalpha() and _script(before) != _script(after)):
        return False
    if text[place] == _JOINER:
        return silent and not (rest and is_mark(rest[0]))
    joins = "initial" in _joining(before) and "final" in _joining(after)
    return joins or (silent and after.isalpha())


def _script(letter: str) -> str:
    """Name the script of a letter, which is how its name begins (Unicode)."""
    return unicodedata.name(letter, "").partition(" ")[0]


def _joining(letter: str) -> frozenset[str]:
    """Say in which forms a letter is written beside others: initial (Joining_Type D, L), final
    (D, R); nothing for what joins none, or is of a script without presentation forms.
    """
    return _forms().get(letter, frozenset())


@cache
def _forms() -> dict[str, frozenset[str]]:
    found: dict[str, frozenset[str]] = {}
    for code in _FORMS:
        form, _, letter = unicodedata.decomposition(chr(code)).partition(" ")
        if form in ("<initial>", "<final>") and " " not in letter:
            known = chr(int(letter, 16))
            found[known] = found.get(known, frozenset()) | {form.strip("<>")}
    return found


def clusters(text: str) -> list[str]:
    """Part a text into signs: each character with the marks that are set upon it, and the joiner.

    A mark that has nothing to stand on is a sign of its own.
    """
    if text.isascii():
        return list(text)
    found: list[str] = []
    for place, sign in enumerate(text):
        set_upon = is_mark(sign) or is_spelling(text, place)
        if found and set_upon and unicodedata.category(found[-1][0])[0] not in "CZ":
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

"""What people see as one sign, and when two texts are the same to them, in every script."""

import unicodedata


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

"""Sentences broken into rows between words; what stands in quotes stays whole, to be copied."""

import re

# What is typed as one word, such as "bean stew".
_QUOTED = re.compile(r"""(?<![\w"'])(["'])(?:(?!\1).){1,60}\1(?!\w)""")
# A number and its unit, such as 98 °F or 35 min.
_MEASURED = re.compile(r"(?<=[0-9]) (?=°|(?:min|h|s)\b)")
_TIED = "\N{NO-BREAK SPACE}"


def broken(words: str, width: int) -> list[str]:
    """Break words into rows of at most `width`; a single longer word has a row of its own."""
    tied = _QUOTED.sub(lambda quoted: quoted[0].replace(" ", _TIED), words)
    tied = _MEASURED.sub(_TIED, tied)
    rows: list[str] = []
    for word in tied.split(" "):
        if rows and len(rows[-1]) + 1 + len(word) <= width:
            rows[-1] += f" {word}"
        elif word:
            rows.append(word)
    return [row.replace(_TIED, " ") for row in rows]

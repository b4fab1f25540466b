"""Sentences broken into rows between words; what stands in quotes stays whole, to be copied."""

import re
import textwrap
from typing import Any

from haccp.signs import clusters, columns

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
        if rows and columns(rows[-1]) + 1 + columns(word) <= width:
            rows[-1] += f" {word}"
        elif word:
            rows.append(word)
    return [row.replace(_TIED, " ") for row in rows]


def wrapped(words: str, width: int, **options: Any) -> list[str]:
    """Wrap as `textwrap.wrap` does, in columns instead of characters; no sign is parted."""
    return _ByColumns(width, **options).wrap(words)


class _Chunk(str):
    """A piece of a line, as long as the columns that it fills."""

    __slots__ = ()

    def __len__(self) -> int:
        return columns(str(self))


class _ByColumns(textwrap.TextWrapper):
    def _split(self, text: str) -> list[str]:
        return [one if one.isascii() else _Chunk(one) for one in super()._split(text)]

    def _handle_long_word(
        self, reversed_chunks: list[str], cur_line: list[str], cur_len: int, width: int
    ) -> None:
        if reversed_chunks[-1].isascii() or not self.break_long_words:
            super()._handle_long_word(reversed_chunks, cur_line, cur_len, width)
            return
        signs = clusters(reversed_chunks.pop())
        room, taken = width - cur_len, 0
        while taken < len(signs) and columns("".join(signs[: taken + 1])) <= room:
            taken += 1
        if not cur_line:
            taken = max(taken, 1)
        pieces = ("".join(signs[:taken]), "".join(signs[taken:]))
        cur_line += [_Chunk(one) for one in pieces[:1] if one]
        reversed_chunks += [_Chunk(one) for one in pieces[1:] if one]

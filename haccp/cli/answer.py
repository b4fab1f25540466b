"""What a reading is answered with, as lines of whole sentences: at most five rows of 80 columns."""

from collections.abc import Iterable
from dataclasses import dataclass

from haccp.cli.wrapping import broken

MOST_ROWS, COLUMNS = 5, 80

Sentences = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A reading first, then what now and by when, then older trouble that nobody decided.

    Each line has its sentences in the order in which they are needed. `estimate` and `where` come
    after what is to be done. `is_bad` says that something is to be done about this reading, or
    about its food.
    """

    first: Sentences
    now: Sentences = ()
    trouble: Sentences = ()
    estimate: Sentences = ()
    where: Sentences = ()
    is_bad: bool

    def lines(self) -> list[str]:
        """Give the lines that fit: of the last ones the least needed sentences are left out.

        The first sentence of `first`, `now` and `trouble` is never left out; `haccp show` has all.
        """
        lines = [list(line) for line in (self.first, self.now, self.trouble)]
        estimate, where = list(self.estimate), list(self.where)
        while _rows([*lines, estimate, where]) > MOST_ROWS:
            more = next((line for line in reversed(lines) if len(line) > 1), None)
            spare = estimate or where or more
            if not spare:
                break
            spare.pop()
        return [" ".join(line) for line in (*lines, estimate, where) if line]

    def in_a_round(self) -> list[str]:
        """Give its line among those of a round of points; a bad one has what now and what else."""
        first, *_ = self.lines()
        return self.lines() if self.is_bad else [first]


def _rows(lines: Iterable[list[str]]) -> int:
    return sum(len(broken(" ".join(line), COLUMNS)) for line in lines)

"""What is left out of a file, named: the lines by why."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from haccp.language import counted


@dataclass(slots=True)
class Apart:
    """What is left out of a file: the lines by why, as far as it is named before it is recorded."""

    lines: dict[str, list[int]] = field(default_factory=dict)

    def add(self, why: str, line: int) -> None:
        self.lines.setdefault(why, []).append(line)

    def told(self) -> Iterator[str]:
        """Name the lines, those that follow each other together."""
        for why, lines in self.lines.items():
            yield counted(
                "Line {lines} is left out: {why}.",
                "Lines {lines} are left out: {why}.",
                len(lines),
                lines=_spans(lines),
                why=why,
            )


def _spans(lines: Sequence[int]) -> str:
    spans: list[list[int]] = []
    for line in sorted(set(lines)):
        if spans and line == spans[-1][1] + 1:
            spans[-1][1] = line
        else:
            spans.append([line, line])
    return ", ".join(f"{a}-{b}" if b > a else str(a) for a, b in spans)

"""Where a record is: in a file, or on a server."""

from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from haccp.errors import Refused
from haccp.language import phrase

SCHEME = "postgresql+psycopg://"


@dataclass(frozen=True, slots=True)
class Server:
    """A database of a PostgreSQL server, by its URL; told without a password."""

    url: str

    def __str__(self) -> str:
        parts = urlsplit(self.url)
        # an option may hold a password, too: none is told
        return f"{SCHEME}{parts.netloc.rpartition('@')[2]}{parts.path}"

    def __repr__(self) -> str:
        return f"Server({str(self)!r})"


Place = Path | Server


def file_of(place: Place) -> Path:
    """Give the file that a record is; raises Refused where it is on a server."""
    if isinstance(place, Server):
        raise Refused(
            phrase(
                "{place} is no file: who runs the server keeps its copies. haccp export FILE "
                "writes every entry.",
                place=place,
            )
        )
    return place

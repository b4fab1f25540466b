"""Where a record is: in a file, or on a server."""

import re
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from haccp.errors import Refused
from haccp.language import phrase

SCHEME = "postgresql+psycopg://"
# How long a server is tried [s].
TO_CONNECT = 10

# What SQLite, or a library above it, reads as something else than a file's name.
_NO_FILE = re.compile(r":|file:|[a-z][a-z0-9+.-]*:/", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Server:
    """A database of a PostgreSQL server, by its URL; told without a password."""

    url: str

    def __str__(self) -> str:
        parts = urlsplit(self.url)
        who, _, host = parts.netloc.rpartition("@")
        name = who.partition(":")[0]
        # an option may hold a password, too: none is told
        return f"{SCHEME}{name}@{host}{parts.path}" if name else f"{SCHEME}{host}{parts.path}"

    @property
    def known_as(self) -> str:
        """Give the URL with no password in it, by which it is told from other servers."""
        parts = urlsplit(self.url)
        who, _, host = parts.netloc.rpartition("@")
        name = who.partition(":")[0]
        kept = [one for one in parts.query.split("&") if one and "password" not in one.lower()]
        query = f"?{'&'.join(kept)}" if kept else ""
        return f"{SCHEME}{f'{name}@' if name else ''}{host}{parts.path}{query}"

    @property
    def has_password(self) -> bool:
        parts = urlsplit(self.url)
        return bool(parts.password) or "password=" in parts.query

    def with_name(self, name: str) -> "Server":
        """Give the URL for another account of the same server; it holds no password."""
        parts = urlsplit(self.url)
        host = parts.netloc.rpartition("@")[2]
        kept = [one for one in parts.query.split("&") if not one.startswith(("user=", "password="))]
        query = f"?{'&'.join(kept)}" if any(kept) else ""
        return Server(f"{SCHEME}{name}@{host}{parts.path}{query}")

    def __repr__(self) -> str:
        return f"Server({str(self)!r})"


Place = Path | Server


def without_client() -> Refused:
    """Say what is missing where the client's library of a server is."""
    return Refused(phrase("A record on a server needs more of haccp: pip install 'haccp[server]'"))


def place_named(text: str) -> Place:
    """Take the name of a record's file, or the URL of a server.

    Raises Refused for what a database might take for more than a file's name.
    """
    if text.startswith(SCHEME):
        return Server(text)
    if not text or _NO_FILE.match(text):
        raise Refused(
            phrase(
                "{text!r} is no file: type the record's name, such as --db record.sqlite3",
                text=text,
            )
        )
    return Path(text)


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

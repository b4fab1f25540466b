"""The reader's language: each sentence that people read is one whole message with named places."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from gettext import NullTranslations

ENGLISH = NullTranslations()
# Whose language it is, is known where a command or a paper begins; without one, English.
_catalog: ContextVar[NullTranslations] = ContextVar("catalog", default=ENGLISH)


@contextmanager
def read_in(catalog: NullTranslations) -> Iterator[None]:
    """Tell everything inside in the catalog's language."""
    token = _catalog.set(catalog)
    try:
        yield
    finally:
        _catalog.reset(token)


def read_on_in(catalog: NullTranslations) -> None:
    """Tell what follows in another language, up to the end of the `read_in` around it."""
    _catalog.set(catalog)


def is_english() -> bool:
    return _catalog.get() is ENGLISH


def tag() -> str:
    """Give the code of the reader's language, such as ``es``."""
    return _catalog.get().info().get("language", "en").partition("_")[0]


def phrase(message: str, /, **places: object) -> str:
    """Give `message` in the reader's language, its ``{places}`` filled in."""
    return _catalog.get().gettext(message).format(**places)


def counted(one: str, many: str, count: int, /, **places: object) -> str:
    """Give the form that `count` asks for in the reader's language; it is ``{count}`` inside."""
    return _catalog.get().ngettext(one, many, count).format(count=count, **places)


def message(text: str, /) -> str:
    """Mark text for the catalog that is written once and told later, by `phrase`."""
    return text

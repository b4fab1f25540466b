"""In whose language the screen is: by the environment, until it is known who types.

click has its own words from the same catalog, through gettext's default domain; the language of
that follows the variable LANGUAGE, which is put back at the end.
"""

import gettext
import os
from collections.abc import Iterator
from contextlib import contextmanager

import click

from haccp.catalogs import DOMAIN, FOLDER, LANGUAGES, catalog_of, spoken_by
from haccp.language import ENGLISH, read_in, read_on_in

_CLICKS = "LANGUAGE"


@contextmanager
def read_by_environment() -> Iterator[None]:
    """Tell a run of the command line in the language of who is logged in."""
    before = os.environ.get(_CLICKS)
    gettext.bindtextdomain(DOMAIN, FOLDER)
    gettext.textdomain(DOMAIN)
    with read_in(ENGLISH):
        _read_on_in(spoken_by(os.environ))
        try:
            yield
        finally:
            os.environ.pop(_CLICKS, None)
            if before is not None:
                os.environ[_CLICKS] = before


def read_by(language: str) -> None:
    """Tell what follows in the language of who types; what programs read is English for all."""
    ctx = click.get_current_context(silent=True)
    if language and not (ctx and ctx.params.get("json_")):
        _read_on_in(language)


def read_by_programs(_: click.Context, __: click.Parameter, is_json: bool) -> bool:
    """Take `--json`: its sentences are English whoever types."""
    if is_json:
        _read_on_in("en")
    return is_json


def _read_on_in(language: str) -> None:
    read_on_in(catalog_of(language))
    os.environ[_CLICKS] = LANGUAGES[language] or language

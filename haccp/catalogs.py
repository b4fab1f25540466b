"""Which languages haccp can be read in, and the catalog of each."""

from collections.abc import Mapping
from gettext import NullTranslations, translation
from pathlib import Path

from haccp.language import ENGLISH

DOMAIN, FOLDER = "haccp", Path(__file__).with_name("locale")
# Of each language that somebody can read haccp in, where its catalog stands: `haccp kitchen
# --language es`. English stands in the code.
LANGUAGES = {"en": "", "es": "es_US"}


def catalog_of(language: str) -> NullTranslations:
    """Give a language's catalog; English where it was never compiled, as in a bare checkout."""
    if not LANGUAGES[language]:
        return ENGLISH
    return translation(DOMAIN, FOLDER, [LANGUAGES[language]], fallback=True)


def spoken_by(environment: Mapping[str, str]) -> str:
    """Say which language a system's user reads, by LC_ALL, LC_MESSAGES, LANG; else English."""
    named = filter(None, map(environment.get, ("LC_ALL", "LC_MESSAGES", "LANG")))
    code = next(named, "").partition("_")[0].partition(".")[0].lower()
    return code if code in LANGUAGES else "en"

"""Compiles the catalogs of languages where haccp is built or installed; it does not ship."""

from pathlib import Path
from typing import Any

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class Catalogs(BuildHookInterface):  # type: ignore[misc]  # hatchling is there only while it builds
    def initialize(self, _: str, __: dict[str, Any]) -> None:
        for source in Path(self.root, "haccp", "locale").glob("*/LC_MESSAGES/*.po"):
            with source.open("rb") as po, source.with_suffix(".mo").open("wb") as mo:
                write_mo(mo, read_po(po))

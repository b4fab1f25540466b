"""Carries a record to this version's schema, with a copy kept of what was there."""

import os
import shutil
import sqlite3
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from haccp.assets import folder
from haccp.errors import Refused


def bring_up_to_date(engine: sa.Engine, path: Path, version: str | None) -> None:
    """Create the schema, or upgrade it after keeping a copy; refuse what a newer version made."""
    config = _config()
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if version is not None and version not in known:
        raise Refused(
            f"{path} was made by a newer haccp (schema {version}): install that version to open it."
        )
    if version is not None:
        _keep_copy(path, version)
    upgrade(engine)


def upgrade(engine: sa.Engine) -> None:
    """Carry a database to the newest schema in one transaction; one that is there already stays."""
    config = _config()
    with engine.connect().execution_options(immediate=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(folder("db")).replace("%", "%%"))
    return config


def _keep_copy(path: Path, version: str) -> None:
    copy = path.with_name(f"{path.name}.before-upgrade-from-{version}")
    if copy.exists():
        return
    partial = copy.with_name(f"{copy.name}.{os.getpid()}.partial")
    with sqlite3.connect(path) as source, sqlite3.connect(partial) as target:
        source.backup(target)
    shutil.copymode(path, partial)
    partial.replace(copy)

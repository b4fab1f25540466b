"""Carries a record to this version's schema, with a copy kept of what was there."""

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError

from haccp.assets import folder
from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import derived
from haccp.record.driver import driver_of_file
from haccp.record.places import Place
from haccp.record.sentences import DAMAGED, reason_of


def bring_up_to_date(engine: sa.Engine, path: Path, version: str | None) -> None:
    """Create the schema, or upgrade it after keeping a copy; refuse what a newer version made."""
    refuse_newer(path, version)
    try:
        upgrade_file(engine, path)
    except CommandError:  # the table that names its version is not one of ours any more
        raise Refused(phrase(DAMAGED, path=path)) from None


def refuse_newer(place: Place, version: str | None) -> None:
    known = {script.revision for script in _scripts().walk_revisions()}
    if version is not None and version not in known:
        raise Refused(
            phrase(
                "{path} was made by a newer haccp (schema {version}): install that version to "
                "open it.",
                path=place,
                version=version,
            )
        )


def upgrade_file(engine: sa.Engine, path: Path | None = None) -> None:
    """Carry a file to the newest schema in one transaction; one that is there already stays.

    The copy of an old file is made under the same lock: of many that open it at once, the one
    that upgrades it is the only one that copies, and what it copies is old.
    """
    with engine.connect().execution_options(immediate=True) as connection, connection.begin():
        version = version_of(connection)
        if path and version and version != _scripts().get_current_head():
            _keep_copy(path, version)
        if upgrade(connection):
            derived.rebuild(driver_of_file(connection))


def version_of(connection: sa.Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def upgrade(connection: sa.Connection, to: str = "head") -> bool:
    """Carry a database to a schema within a transaction; say whether there was anything to do."""
    if version_of(connection) == _scripts().get_current_head():
        return False
    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, to)
    return True


def _scripts() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(folder("db")).replace("%", "%%"))
    return config


def _keep_copy(path: Path, version: str) -> None:
    copy = path.with_name(f"{path.name}.before-upgrade-from-{version}")
    if copy.exists():
        return
    # under the lock nobody else makes one: what stands under this name was left by a dead process
    partial = copy.with_name(f"{copy.name}.partial")
    try:
        partial.unlink(missing_ok=True)
        # from its first byte readable by those only who may read the record
        os.close(os.open(partial, os.O_CREAT | os.O_WRONLY, 0o600))
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(partial)) as target:
            source.backup(target)
        shutil.copymode(path, partial)
        partial.replace(copy)
    except OSError as error:
        words = message("{path} cannot be made, so nothing is upgraded: {reason}.")
        raise Refused(phrase(words, path=copy, reason=reason_of(error))) from None
    finally:
        with suppress(OSError):
            partial.unlink()

"""Bringing a database to the tables this version of zonule knows."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from zonule.errors import StorageError

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0002"
"""The newest migration, said here too so that an up-to-date database opens without importing Alembic."""
VERSION_TABLE = "zonule_version"


def version_of(connection: Connection) -> str | None:
    """The migration a database stands at; None for one that is still empty."""
    tables = inspect(connection).get_table_names()
    if VERSION_TABLE in tables:
        return connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()  # noqa: S608 - a constant
    if tables:
        raise StorageError(
            "This database belongs to another program: it holds tables, but no record of zonule. "
            "Choose another file."
        )
    return None


def migrate(connection: Connection) -> None:
    """Run what is missing, inside the transaction that the connection has open."""
    from alembic import command
    from alembic.script import ScriptDirectory

    settings = alembic_settings(connection)
    known = {script.revision for script in ScriptDirectory.from_config(settings).walk_revisions()}
    version = version_of(connection)
    if version is not None and version not in known:
        raise StorageError(
            "This record was written by a newer zonule than this one. Install the newer one to open it; "
            "nothing has been changed."
        )
    command.upgrade(settings, "head")


def alembic_settings(connection: Connection) -> Config:
    """What Alembic needs to know; there is no file of settings."""
    from alembic.config import Config

    settings = Config(attributes={"connection": connection})
    folder = str(Path(__file__).parent / "migrations")
    settings.set_main_option("script_location", folder.replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    return settings

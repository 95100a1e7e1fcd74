"""Runs migrations on the connection that `zonule.storage.upgrading` hands over."""

from __future__ import annotations

from alembic import context

from zonule.storage.schema import metadata
from zonule.storage.upgrading import VERSION_TABLE


def run() -> None:
    """Migrate in the caller's transaction, so that a database is never left half-way."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=metadata,
        version_table=VERSION_TABLE,
        render_as_batch=True,
    )
    with context.begin_transaction():
        context.run_migrations()


if __name__ == "env_py":  # the name under which Alembic loads this file; plain imports run nothing
    run()

"""Looks at the axis of a toric lens, what incisions teach, and operations found by day and cylinder."""

from __future__ import annotations

import json
from datetime import date

import sqlalchemy as sa
from alembic import op

from zonule.storage.append_only import refuse_changes

revision = "0002"
down_revision = "0001"

_OPERATIONS = sa.table(
    "operations",
    sa.column("number", sa.Integer),
    sa.column("operated_on", sa.Date),
    sa.column("lens_cylinder_dpt", sa.Float),
    sa.column("document", sa.Text),
)


def upgrade() -> None:
    """Make the two tables and their guards, and find operations by what their documents already say."""
    _axis_visits()
    _incision_lessons()
    _operations_by_day()
    for table in ("axis_visits", "incision_lessons", "operations"):
        refuse_changes(op.execute, table)


def _axis_visits() -> None:
    op.create_table(
        "axis_visits",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("case_key", sa.String, sa.ForeignKey("cases.key"), nullable=False),
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_index("ix_axis_visits_versions", "axis_visits", ["case_key", "number"])


def _incision_lessons() -> None:
    op.create_table(
        "incision_lessons",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("surgeon", sa.String, nullable=False),
        sa.Column("place", sa.String, nullable=False),
        sa.Column("width_mm", sa.Float, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
    )
    subject = ["surgeon", "place", "width_mm", "number"]
    op.create_index("ix_incision_lessons_versions", "incision_lessons", subject)


def _operations_by_day() -> None:
    """The documents stay as they are; only the columns that find them are filled, with the guard lifted."""
    op.add_column("operations", sa.Column("operated_on", sa.Date))
    op.add_column("operations", sa.Column("lens_cylinder_dpt", sa.Float))
    op.create_index("ix_operations_operated_on", "operations", ["operated_on"])
    op.execute("DROP TRIGGER operations_refuse_update")
    connection = op.get_bind()
    for row in connection.execute(sa.select(_OPERATIONS.c.number, _OPERATIONS.c.document)).all():
        said = json.loads(row.document)
        found = {
            "operated_on": date.fromisoformat(said["operated_on"]),
            "lens_cylinder_dpt": said.get("lens_cylinder_dpt"),
        }
        connection.execute(sa.update(_OPERATIONS).where(_OPERATIONS.c.number == row.number).values(found))

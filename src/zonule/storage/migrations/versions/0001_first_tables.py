"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from zonule.storage.append_only import refuse_changes

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table, its indexes and its guards."""
    _people_and_eyes()
    _cases()
    _catalogue_and_lessons()
    _trail()
    for table in ("eyes", "signed_plans", "operations", "reviews", "lessons", "trail"):
        refuse_changes(op.execute, table)


def _people_and_eyes() -> None:
    op.create_table(
        "patients",
        sa.Column("key", sa.String, primary_key=True),
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_table(
        "eyes",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("patient_key", sa.String, sa.ForeignKey("patients.key"), nullable=False),
        sa.Column("side", sa.String, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("recorded_at", sa.String, nullable=False),
    )
    op.create_index("ix_eyes_versions", "eyes", ["patient_key", "side", "number"])


def _cases() -> None:
    op.create_table(
        "cases",
        sa.Column("key", sa.String, primary_key=True),
        sa.Column("patient_key", sa.String, sa.ForeignKey("patients.key"), nullable=False, index=True),
        sa.Column("side", sa.String, nullable=False),
        sa.Column("listed_on", sa.Date, index=True),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("intent", sa.Text, nullable=False),
    )
    _versions_of_a_case(
        "signed_plans",
        sa.Column("digest", sa.String, nullable=False),
        sa.Column("lens_model", sa.String),
        sa.Column("lens_power_dpt", sa.Float),
    )
    _versions_of_a_case("operations")
    _versions_of_a_case("reviews")


def _versions_of_a_case(table: str, *found_by: sa.Column[object]) -> None:
    op.create_table(
        table,
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("case_key", sa.String, sa.ForeignKey("cases.key"), nullable=False),
        *found_by,
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_index(f"ix_{table}_versions", table, ["case_key", "number"])


def _catalogue_and_lessons() -> None:
    op.create_table(
        "lenses",
        sa.Column("name", sa.String, primary_key=True),
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_table(
        "lessons",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("surgeon", sa.String, nullable=False),
        sa.Column("method", sa.String, nullable=False),
        sa.Column("lens_model", sa.String, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_index("ix_lessons_versions", "lessons", ["surgeon", "method", "lens_model", "number"])
    op.create_table(
        "sources",
        sa.Column("digest", sa.String, primary_key=True),
        sa.Column("file", sa.String, nullable=False),
    )


def _trail() -> None:
    op.create_table(
        "trail",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String, nullable=False),
        sa.Column("who", sa.String, nullable=False),
        sa.Column("verb", sa.String, nullable=False),
        sa.Column("subject", sa.String, nullable=False),
        sa.Column("detail", sa.Text, nullable=False),
        sa.Column("digest", sa.String, nullable=False),
    )
    op.create_index("ix_trail_subject", "trail", ["subject", "number"])

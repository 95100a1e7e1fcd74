"""The tables of the record, in types that every database has.

Records are kept as documents (JSON text); a column beside a document is there because something is
found, joined or listed by it. In an append-only table the highest number counts and the rest is history.
"""

from __future__ import annotations

from sqlalchemy import Column, Date, Float, ForeignKey, Index, Integer, MetaData, String, Table, Text

metadata = MetaData()

patients = Table(
    "patients",
    metadata,
    Column("key", String, primary_key=True),
    Column("document", Text, nullable=False),
)

eyes = Table(
    "eyes",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("patient_key", ForeignKey("patients.key"), nullable=False),
    Column("side", String, nullable=False),
    Column("document", Text, nullable=False),
    Column("recorded_at", String, nullable=False),
    Index("ix_eyes_versions", "patient_key", "side", "number"),
)

cases = Table(
    "cases",
    metadata,
    Column("key", String, primary_key=True),
    Column("patient_key", ForeignKey("patients.key"), nullable=False, index=True),
    Column("side", String, nullable=False),
    Column("listed_on", Date, index=True),
    Column("revision", Integer, nullable=False),
    Column("intent", Text, nullable=False),
)

signed_plans = Table(
    "signed_plans",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("case_key", ForeignKey("cases.key"), nullable=False),
    Column("digest", String, nullable=False),
    Column("lens_model", String),
    Column("lens_power_dpt", Float),
    Column("document", Text, nullable=False),
    Index("ix_signed_plans_versions", "case_key", "number"),
)

operations = Table(
    "operations",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("case_key", ForeignKey("cases.key"), nullable=False),
    Column("operated_on", Date),
    Column("lens_cylinder_dpt", Float),
    Column("document", Text, nullable=False),
    Index("ix_operations_versions", "case_key", "number"),
    Index("ix_operations_operated_on", "operated_on"),
)

axis_visits = Table(
    "axis_visits",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("case_key", ForeignKey("cases.key"), nullable=False),
    Column("document", Text, nullable=False),
    Index("ix_axis_visits_versions", "case_key", "number"),
)

reviews = Table(
    "reviews",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("case_key", ForeignKey("cases.key"), nullable=False),
    Column("document", Text, nullable=False),
    Index("ix_reviews_versions", "case_key", "number"),
)

lenses = Table(
    "lenses",
    metadata,
    Column("name", String, primary_key=True),
    Column("document", Text, nullable=False),
)

lessons = Table(
    "lessons",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("surgeon", String, nullable=False),
    Column("method", String, nullable=False),
    Column("lens_model", String, nullable=False),
    Column("document", Text, nullable=False),
    Index("ix_lessons_versions", "surgeon", "method", "lens_model", "number"),
)

incision_lessons = Table(
    "incision_lessons",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("surgeon", String, nullable=False),
    Column("place", String, nullable=False),
    Column("width_mm", Float, nullable=False),
    Column("document", Text, nullable=False),
    Index("ix_incision_lessons_versions", "surgeon", "place", "width_mm", "number"),
)

sources = Table(
    "sources",
    metadata,
    Column("digest", String, primary_key=True),
    Column("file", String, nullable=False),
)

trail = Table(
    "trail",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", String, nullable=False),
    Column("who", String, nullable=False),
    Column("verb", String, nullable=False),
    Column("subject", String, nullable=False),
    Column("detail", Text, nullable=False),
    Column("digest", String, nullable=False),
    Index("ix_trail_subject", "subject", "number"),
)

APPEND_ONLY = (eyes, signed_plans, operations, axis_visits, reviews, lessons, incision_lessons, trail)
"""Nothing in these is ever changed or taken away; the database itself refuses it."""

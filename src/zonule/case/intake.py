"""What a file from outside brings: eyes it understood, and findings about rows it did not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from zonule.case.eye import Eye
from zonule.case.finding import Finding
from zonule.case.patient import Patient


@dataclass(frozen=True, slots=True)
class IncomingEye:
    """One eye read from a file, before it is put into the record."""

    patient: Patient
    eye: Eye
    where: str
    """The row or object it was read from, in words: `row 7`."""
    listed_on: date | None = None
    target_refraction_dpt: float | None = None
    lens_model: str | None = None


@dataclass(frozen=True, slots=True)
class Intake:
    """Everything one file brought."""

    file: str
    """The file's name, without its folder."""
    digest: str
    """SHA-256 of its bytes."""
    eyes: tuple[IncomingEye, ...]
    findings: tuple[Finding, ...]
    """About rows or fields that were refused; `where` names file, row and field."""

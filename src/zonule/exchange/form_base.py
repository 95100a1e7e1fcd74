"""What every form is made of: the strict base and the kinds of values."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from zonule.exchange.refusal import shown

CONTRACT_VERSION = 1
_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def iso_day(value: object) -> object:
    """A date written as 2026-11-02; anything else is a `ValueError` that says so."""
    if not isinstance(value, str):
        return value
    if not _ISO_DAY.fullmatch(value):
        raise ValueError(f"{shown(value)} is not a date written as year-month-day, such as 2026-11-02.")
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise ValueError(f"There is no such day as {shown(value)}. Correct the date.") from None


def _not_a_truth(value: object) -> object:
    """Python takes true for 1; a version is a number."""
    return str(value) if isinstance(value, bool) else value


Version = Annotated[Literal[1], BeforeValidator(_not_a_truth)]
Number = Annotated[float, Field(ge=-1e6, le=1e6)]
Degrees = Annotated[float, Field(ge=0.0, le=180.0)]
Text = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]
Key = Annotated[Text, Field(min_length=1)]
Day = Annotated[date, BeforeValidator(iso_day)]
Readings = Annotated[list[Number], Field(min_length=1, max_length=1000)]
Word = Field(default=None, strict=False)
"""Lets an enumerated word be read from its text; every other type stays strict."""


class Form(BaseModel):
    """A group of keys: strict about names and types, never about what is missing."""

    model_config = ConfigDict(
        strict=True, extra="forbid", frozen=True, allow_inf_nan=False, str_strip_whitespace=True
    )

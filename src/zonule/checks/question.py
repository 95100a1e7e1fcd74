"""What can be asked of the installed code, in words for the report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from zonule.checks.rows import Row


@dataclass(frozen=True, slots=True)
class Question:
    """One quantity: how a report calls it, and how to compute it now."""

    words: str
    """Plain words; a column of the row stands in braces, such as `{axial_length_mm}`."""
    answer: Callable[[Row], Any]
    """Takes the row's inputs, asks the code, gives one number."""

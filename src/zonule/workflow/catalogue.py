"""The catalogue: which lenses the clinic can order, with the constants its plans are computed from."""

from __future__ import annotations

from datetime import datetime

from zonule.case.canonical import canonical_text
from zonule.case.lens import LensModel
from zonule.case.lens_checks import refuse_impossible_lens
from zonule.workflow.ports import Record


def save_lens(record: Record, lens: LensModel, *, who: str, now: datetime) -> None:
    """Add a lens, or change the one of its name; plans signed before keep the constants they had."""
    refuse_impossible_lens(lens)
    before = record.lens(lens.name)
    detail = canonical_text({"before": before, "after": lens})
    verb = "add lens" if before is None else "change lens"
    with record.act(who=who, verb=verb, subject=lens.name, at=now, detail=detail) as act:
        act.put_lens(lens)

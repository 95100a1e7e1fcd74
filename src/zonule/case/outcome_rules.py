"""Which operated eyes say something about formulas and constants, and why the others do not."""

from __future__ import annotations

from zonule.case.eye import CornealSurgery
from zonule.case.operation import Complication, Fixation
from zonule.case.review import STABLE_AFTER_DAYS


def why_left_out(
    surgery: CornealSurgery, fixation: Fixation | None, complication: Complication | None, days: int | None
) -> str:
    """The first reason why an eye says nothing about a lens constant; empty when it may."""
    if surgery is not CornealSurgery.NONE:
        return f"corneal surgery: {surgery.replace('_', ' ')}"
    if fixation is not Fixation.BAG:
        return "fixation not recorded" if fixation is None else "lens not in the bag"
    if complication is not Complication.NONE:
        return "complication not recorded" if complication is None else "complication"
    if days is None:
        return "days to refraction unknown"
    return "" if days >= STABLE_AFTER_DAYS else f"refracted before {STABLE_AFTER_DAYS} days"

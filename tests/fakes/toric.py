"""A toric plan made by hand; nothing was computed for it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from zonule.case.toric import (
    CorneaModel,
    CorneaModelName,
    ToricOption,
    ToricPlan,
    TurnAccount,
)
from zonule.science.astigmatism.vectors import Plane, steep

CYLINDERS_DPT = (1.5, 2.25, 3.0)


def toric_option(lens_cylinder_dpt: float, meridian_deg: float = 104.0) -> ToricOption:
    """What one cylinder would leave."""
    return ToricOption(
        lens_cylinder_dpt=lens_cylinder_dpt,
        cylinder_at_cornea_dpt=0.7 * lens_cylinder_dpt,
        ray_traced_dpt=None,
        residual=steep(0.15, meridian_deg, Plane.CORNEA),
        mean_residual_dpt=0.34,
        within=(0.4, 0.78, 0.93, 0.98),
        standard_error=0.002,
        flipped_dpt=3.24,
        mirrored_dpt=1.42,
    )


def toric_plan(meridian_deg: float = 104.0, **changes: Any) -> ToricPlan:
    """A cornea of 1.68 D, planned on the equation of Abulafia and Koch."""
    cornea = steep(1.68, meridian_deg, Plane.CORNEA)
    model = CorneaModel(
        key=CorneaModelName.ABULAFIA_KOCH_2016,
        words="Abulafia and Koch 2016",
        before=cornea,
        after=cornea,
        counts=True,
        source="abulafia-2016",
        status="from memory",
    )
    made = ToricPlan(
        reading=steep(1.9, 101.0, Plane.CORNEA),
        models=(model,),
        not_used=(),
        planned_on=model.key,
        incision=None,
        without=toric_option(0.0, meridian_deg),
        options=tuple(toric_option(one, meridian_deg) for one in CYLINDERS_DPT),
        best_cylinder_dpt=2.25,
        power_dpt=21.0,
        keratometry_sds_dpt=(0.1, 0.1),
        model_sd_dpt=0.2,
        turn=TurnAccount("ink, patient upright, then a ring", 5.3, 0.0, 4.0, "visser-2011"),
        draws=8192,
    )
    return replace(made, **changes)

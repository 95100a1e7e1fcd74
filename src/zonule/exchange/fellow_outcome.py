"""What the fellow eye got, in an eye file: `fellow.outcome` (docs/reference/eye-file.md)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from zonule.case.finding import Finding, note
from zonule.case.operation import Complication, Fixation
from zonule.case.refraction import (
    LANES_M,
    MAX_CYLINDER_DPT,
    MAX_SPHERE_DPT,
    MAX_VERTEX_MM,
    Refraction,
)
from zonule.case.second_eye import FellowOutcome
from zonule.exchange.form_base import Day, Degrees, Form, Number, Text, Word
from zonule.exchange.refusal import FORMAT
from zonule.science.units import SPECTACLE_VERTEX_MM


class OutcomeRefractionForm(Form):
    """`fellow.outcome.refraction`."""

    sphere_dpt: Annotated[Number, Field(ge=-MAX_SPHERE_DPT, le=MAX_SPHERE_DPT)]
    cylinder_dpt: Annotated[Number, Field(ge=-MAX_CYLINDER_DPT, le=MAX_CYLINDER_DPT)] | None = None
    axis_deg: Degrees | None = None
    vertex_mm: Annotated[Number, Field(ge=0.0, le=MAX_VERTEX_MM)] | None = None
    lane_m: Annotated[Number, Field(ge=LANES_M[0], le=LANES_M[1])] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.cylinder_dpt and self.axis_deg is None:
            raise ValueError("This refraction has a cylinder but no axis. Enter it, or a cylinder of 0.")
        return self


class FellowOutcomeForm(Form):
    """`fellow.outcome`: what is not known is left out, and then the first eye is not used."""

    refraction: OutcomeRefractionForm
    lens_model: Text | None = None
    lens_power_dpt: Number | None = None
    fixation: Fixation | None = Word
    complication: Complication | None = Word
    operated_on: Day | None = None
    refracted_on: Day | None = None
    surgeon: Text | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.operated_on and self.refracted_on and self.refracted_on < self.operated_on:
            raise ValueError("The fellow eye was refracted before it was operated. Correct one of the days.")
        return self


def fellow_outcome_record(form: FellowOutcomeForm) -> tuple[FellowOutcome, tuple[Finding, ...]]:
    """What the fellow eye got, as the file states it, and what was taken where it is silent."""
    seen = form.refraction
    refraction = Refraction(
        sphere_dpt=seen.sphere_dpt,
        cylinder_dpt=seen.cylinder_dpt or 0.0,
        axis_deg=seen.axis_deg,
        vertex_mm=SPECTACLE_VERTEX_MM if seen.vertex_mm is None else seen.vertex_mm,
        lane_m=seen.lane_m,
    )
    outcome = FellowOutcome(
        refraction=refraction,
        lens_model=form.lens_model or "",
        lens_power_dpt=form.lens_power_dpt,
        operated_on=form.operated_on,
        refracted_on=form.refracted_on,
        fixation=form.fixation,
        complication=form.complication,
        surgeon=form.surgeon or "",
    )
    return outcome, tuple(_taken(seen))


def fellow_outcome_as_dict(outcome: FellowOutcome) -> dict[str, Any]:
    """The same keys from a record; reading them gives it back.

    An eye file has no place for the lessons of another surgeon, for a learned weight or for older
    measurements of the fellow eye: those come from the record alone.
    """
    seen = outcome.refraction
    refraction = {
        "sphere_dpt": seen.sphere_dpt,
        "cylinder_dpt": seen.cylinder_dpt,
        "axis_deg": seen.axis_deg,
        "vertex_mm": seen.vertex_mm,
        "lane_m": seen.lane_m,
    }
    written = {
        "refraction": {name: value for name, value in refraction.items() if value is not None},
        "lens_model": outcome.lens_model or None,
        "lens_power_dpt": outcome.lens_power_dpt,
        "fixation": outcome.fixation and outcome.fixation.value,
        "complication": outcome.complication and outcome.complication.value,
        "operated_on": outcome.operated_on and outcome.operated_on.isoformat(),
        "refracted_on": outcome.refracted_on and outcome.refracted_on.isoformat(),
        "surgeon": outcome.surgeon or None,
    }
    return {name: value for name, value in written.items() if value is not None}


def _taken(seen: OutcomeRefractionForm) -> Iterator[Finding]:
    place = "fellow.outcome.refraction"
    if seen.cylinder_dpt is None:
        yield note(
            "cylinder-not-given",
            "The fellow eye's refraction comes without a cylinder; none is taken. One of 1 D would shift its "
            "error by half a dioptre.",
            f"{place}.cylinder_dpt",
            FORMAT,
        )
    if seen.vertex_mm is None:
        sentence = "The fellow eye's refraction comes without a vertex distance; 12 mm is taken."
        yield note("vertex-not-given", sentence, f"{place}.vertex_mm", FORMAT)
    if seen.lane_m is None:
        yield note(
            "lane-missing",
            "The lane of the fellow eye's refraction is not recorded; 6 m is assumed, and a 4 m lane would "
            "shift its error by 0.08 D.",
            f"{place}.lane_m",
            "lane-length",
        )

"""What is known of an eye seen from in front: the numbers behind `eye_face`, measured, planned or done."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from zonule.case.case import Case
from zonule.case.lens import LensModel
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.drawings.numbers import axis_text, degrees_text, mm_text

NOMINAL_LIMBUS_MM = 11.8
"""Drawn, dotted, where white-to-white was not measured: an adult cornea (common practice, no source)."""


class State(StrEnum):
    """How sure a thing is, and so how its line is drawn."""

    MEASURED = "measured"
    PLANNED = "planned"
    DONE = "done"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle about the centre of the limbus."""

    name: str
    diameter_mm: float
    state: State
    remark: str = ""

    @property
    def sentence(self) -> str:
        """The ring in words."""
        if self.state is State.NOT_MEASURED:
            return f"{self.name} not measured, drawn at {mm_text(self.diameter_mm, 1)}"
        remark = f", {self.remark}" if self.remark else ""
        return f"{self.name} {mm_text(self.diameter_mm, 1)}, {self.state}{remark}"


@dataclass(frozen=True, slots=True)
class SeenEye:
    """An eye from in front, in its own numbers."""

    side: Side
    limbus: Ring
    pupil: Ring | None
    capsulorhexis: Ring | None
    optic: Ring | None
    steep_meridian_deg: float | None
    incision_deg: float | None
    """Direction from the centre, 0 to 360, counter-clockwise as the examiner sees the eye."""
    incision_state: State

    @property
    def rings(self) -> tuple[Ring, ...]:
        """Every ring there is, the outermost kind first."""
        return tuple(
            ring for ring in (self.limbus, self.pupil, self.optic, self.capsulorhexis) if ring is not None
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """Everything the drawing shows, in words."""
        said = [ring.sentence for ring in self.rings]
        if self.pupil is None:
            said.insert(1, "dilated pupil not measured")
        if self.steep_meridian_deg is None:
            said.append("steep meridian not measured")
        else:
            said.append(f"steep meridian {axis_text(self.steep_meridian_deg)}")
        if self.incision_deg is not None:
            said.append(f"incision at {degrees_text(self.incision_deg)}, {self.incision_state}")
        return tuple(said)


def seen_eye(case: Case, lens: LensModel | None = None) -> SeenEye:
    """The numbers of a case that can be seen from in front.

    Parameters
    ----------
    case
        The case; its intent counts as the plan, its operation, when there is one, as what was done.
    lens
        The lens in the intent, for its optic; the signed one when it is left out.
    """
    incision_deg, incision_state = _incision(case)
    return SeenEye(
        side=case.side,
        limbus=_limbus(case),
        pupil=_pupil(case),
        capsulorhexis=_capsulorhexis(case),
        optic=_optic(case, lens),
        steep_meridian_deg=case.eye.biometry.keratometry.steep_meridian_deg,
        incision_deg=incision_deg,
        incision_state=incision_state,
    )


def _limbus(case: Case) -> Ring:
    measured = case.eye.biometry.white_to_white_mm
    if measured is None:
        return Ring("limbus", NOMINAL_LIMBUS_MM, State.NOT_MEASURED)
    return Ring("limbus", measured.value, State.MEASURED)


def _pupil(case: Case) -> Ring | None:
    diameter_mm = case.eye.readiness.dilated_pupil_mm
    if diameter_mm is None:
        return None
    return Ring("dilated pupil", diameter_mm, State.MEASURED, "apparent size")


def _capsulorhexis(case: Case) -> Ring | None:
    if case.operation is not None and case.operation.capsulorhexis_mm is not None:
        return Ring("capsulorhexis", case.operation.capsulorhexis_mm, State.DONE)
    if case.intent.capsulorhexis_mm is None:
        return None
    return Ring("capsulorhexis", case.intent.capsulorhexis_mm, State.PLANNED)


def _optic(case: Case, lens: LensModel | None) -> Ring | None:
    if lens is None and case.signed is not None:
        lens = case.signed.request.lens
    if lens is None or lens.optic_mm is None:
        return None
    operation = case.operation
    if operation is None:
        wanted, state = case.intent.lens_model, State.PLANNED
    else:
        wanted = None if operation.fixation is Fixation.NO_LENS else operation.lens_model
        state = State.DONE
    return Ring("lens optic", lens.optic_mm, state) if wanted == lens.name else None


def _incision(case: Case) -> tuple[float | None, State]:
    if case.operation is not None and case.operation.incision_meridian_deg is not None:
        return case.operation.incision_meridian_deg, State.DONE
    return case.intent.incision_meridian_deg, State.PLANNED

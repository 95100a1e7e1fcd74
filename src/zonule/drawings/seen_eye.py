"""What is known of an eye seen from in front: the numbers behind `eye_face`, measured, planned or done."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from zonule.case.case import Case
from zonule.case.lens import LensModel
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.case.plan import Plan
from zonule.case.toric import MarkingName
from zonule.drawings.numbers import axis_text, day_text, degrees_text, mm_text

NOMINAL_LIMBUS_MM = 11.8
"""Drawn, dotted, where white-to-white was not measured: an adult cornea (common practice, no source)."""
NOMINAL_OPTIC_MM = 6.0
"""How far apart the marks of a lens of unrecorded optic are drawn (common practice, no source)."""
INK_SENTENCE = "level ink at 0\u00b0 and 180\u00b0, planned"
_UPRIGHT_INK = frozenset({MarkingName.UPRIGHT_INK, MarkingName.UPRIGHT_PENDULUM, MarkingName.UPRIGHT_BUBBLE})
"""Ways of marking that leave ink at the limbus, level, while the patient sits."""


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
class LensMarks:
    """The meridian on which the marks of a toric lens are meant to lie, or were seen."""

    meridian_deg: float
    state: State
    how: str
    """Planned, placed or seen, and when."""

    @property
    def sentence(self) -> str:
        """The marks in words."""
        return f"lens marks {axis_text(self.meridian_deg)}, {self.how}"


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
    lens_marks: tuple[LensMarks, ...] = ()
    """As planned, and as they lie where that is known and not the same."""
    has_ink: bool = False
    """Whether level ink at the limbus is planned to count the meridian from."""

    @property
    def marks_apart_mm(self) -> float:
        """How far apart the marks of the lens are drawn: across its optic."""
        return NOMINAL_OPTIC_MM if self.optic is None else self.optic.diameter_mm

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
        said.extend(marks.sentence for marks in self.lens_marks)
        if self.lens_marks and self.optic is None:
            said.append(f"optic not on record, marks drawn {mm_text(self.marks_apart_mm, 1)} apart")
        if self.has_ink:
            said.append(INK_SENTENCE)
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
    marks = _lens_marks(case)
    return SeenEye(
        side=case.side,
        limbus=_limbus(case),
        pupil=_pupil(case),
        capsulorhexis=_capsulorhexis(case),
        optic=_optic(case, lens),
        steep_meridian_deg=case.eye.biometry.keratometry.steep_meridian_deg,
        incision_deg=incision_deg,
        incision_state=incision_state,
        lens_marks=marks,
        has_ink=bool(marks) and case.operation is None and case.intent.marking in _UPRIGHT_INK,
    )


def as_signed(case: Case) -> Case:
    """The case with the intent of its signature, when it has one, whatever a later draft says."""
    return case if case.signed is None else replace(case, intent=case.signed.intent)


def before_operation(case: Case) -> Case:
    """The case as theatre has to read it: as signed, where it is signed, and nothing of what came after."""
    later = replace(case, operation=None, review=None, axis_visits=())
    return later if case.signed is None else replace(as_signed(later), eye=case.signed.request.eye)


def with_meridian(case: Case, plan: Plan | None) -> Case:
    """The case with the meridian that its plan finds for the chosen cylinder, where nobody wrote one down.

    In whole degrees, as it is written down on signing.
    """
    intent = case.intent
    if plan is None or plan.toric is None or not intent.lens_cylinder_dpt:
        return case
    if intent.lens_meridian_deg is not None:
        return case
    meridian_deg = float(round(plan.toric.meridian_deg) % 180 or 180)
    return replace(case, intent=replace(intent, lens_meridian_deg=meridian_deg))


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


def _lens_marks(case: Case) -> tuple[LensMarks, ...]:
    """What was planned, unless they are known to lie there; then where they lie, by the latest look."""
    planned, lying = _marks_planned(case), _marks_lying(case)
    if lying is None:
        return () if planned is None else (planned,)
    if planned is None or axis_text(planned.meridian_deg) == axis_text(lying.meridian_deg):
        return (lying,)
    return (planned, lying)


def _marks_planned(case: Case) -> LensMarks | None:
    intent, operation = case.intent, case.operation
    if not intent.lens_cylinder_dpt or intent.lens_meridian_deg is None:
        return None
    if operation is not None and (
        operation.fixation is Fixation.NO_LENS or operation.lens_cylinder_dpt == 0.0
    ):
        return None
    return LensMarks(intent.lens_meridian_deg, State.PLANNED, str(State.PLANNED))


def _marks_lying(case: Case) -> LensMarks | None:
    """By the latest look after the operation, or as the lens was placed."""
    seen = [(visit.seen_on, visit.lens_meridian_deg) for visit in case.axis_visits]
    if case.review is not None and case.review.lens_meridian_deg is not None:
        seen.append((case.review.refracted_on, case.review.lens_meridian_deg))
    if seen:
        seen_on, meridian_deg = max(seen)
        return LensMarks(meridian_deg, State.MEASURED, f"seen {day_text(seen_on)}")
    if case.operation is None or case.operation.lens_meridian_deg is None:
        return None
    return LensMarks(case.operation.lens_meridian_deg, State.DONE, "placed")

"""The other lenses to have ready: which power this eye needs when the capsule tears."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from zonule.case.backup import (
    PLACES,
    Backup,
    BackupLens,
    NotOffered,
    bar,
    is_made_for,
    may_lie,
)
from zonule.case.finding import Finding, note, warning
from zonule.case.lens import Focus, LensModel, Material, PowerRange
from zonule.case.operation import Fixation
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, THIN_LENS, EyeNumbers, missing, seen_eye
from zonule.science.lens_power.moved_lens import (
    ANTERIOR_CHAMBER,
    OPTIC_CAPTURED,
    SULCUS,
    moved_forward,
    moved_power_dpt,
    moved_refraction_dpt,
    sulcus_step,
)
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.workflow.methods import UNFIT, constants_for, lane_shift_dpt

FORWARD = {
    Fixation.SULCUS: SULCUS,
    Fixation.SULCUS_CAPTURED: OPTIC_CAPTURED,
    Fixation.ANTERIOR_CHAMBER: ANTERIOR_CHAMBER,
}
HALF_DIOPTRES = PowerRange(-10.0, 40.0, 0.5)
"""The labels that the step rule speaks of, for a lens that nobody has chosen yet."""
RULE_APART_DPT = 0.5
"""From here the rule and the optics are told apart: a step of the label."""
WAYS_APART_DPT = 1.0
ROUNDING_DPT = 1e-9
STEP_RULE = "sulcus-step-rule"
LENS_FORWARD = "lens-forward-distances"


@dataclass(frozen=True, slots=True)
class _Sight:
    """The eye as one method sees it, with a lens where a place is counted from: the bag, or the iris."""

    method: str
    eye: ThinLensEye
    shift_dpt: float
    """From the lane of the constants to the reported one."""


def backup_candidates(lens: LensModel, lenses: Sequence[LensModel]) -> tuple[LensModel, ...]:
    """The lenses of a catalogue, other than the planned one, that may lie elsewhere than in the bag.

    They move the numbers of a plan, so its request carries them. A lens of unrecorded haptics is none.
    """
    fit = (one for one in lenses if one.name != lens.name and any(may_lie(one, place) for place in PLACES))
    return tuple(sorted(fit, key=lambda one: one.name))


def backup_lenses(
    planned: LensModel,
    planned_power_dpt: float | None,
    target_dpt: float,
    eyes: Mapping[str, EyeNumbers],
    lenses: Sequence[LensModel],
) -> Backup:
    """What to have ready in case the capsule tears.

    `eyes` holds, for each method that counts, the numbers of this eye as it reads them; `lenses` are the
    candidates of the clinic's catalogue, to which the planned lens is added.
    """
    others = sorted((one for one in lenses if one.name != planned.name), key=lambda one: one.name)
    offered: list[BackupLens] = []
    not_offered: list[NotOffered] = []
    for place in _places(planned, planned_power_dpt, target_dpt, eyes):
        answers = [place.answer(one, _sights(one, eyes)) for one in (planned, *others)]
        fit = sorted((one for one in answers if isinstance(one, BackupLens)), key=_is_not_made)
        offered.extend(fit or (place.orientation(),))
        not_offered.extend(one for one in answers if isinstance(one, NotOffered))
    return Backup(
        planned_model=planned.name,
        planned_power_dpt=planned_power_dpt,
        target_refraction_dpt=target_dpt,
        lenses=tuple(offered),
        not_offered=tuple(not_offered),
        findings=tuple(_findings(planned, offered)),
    )


def _is_not_made(found: BackupLens) -> bool:
    """What cannot be opened for this eye stands behind what can."""
    return found.power_dpt is None


def _sights(lens: LensModel, eyes: Mapping[str, EyeNumbers]) -> tuple[_Sight, ...]:
    """The eye as each method sees it with this lens in the bag; only those fit to count."""
    return tuple(_each_sight(lens, eyes))


def _each_sight(lens: LensModel, eyes: Mapping[str, EyeNumbers]) -> Iterator[_Sight]:
    for key, numbers in eyes.items():
        formula = FORMULAS[key]
        chosen = constants_for(formula, lens)
        if formula.optics is not THIN_LENS or chosen is None or missing(formula, numbers):
            continue
        constants, first_guess = chosen
        eye = seen_eye(formula, numbers, constants)
        if (formula.converted_fit_for_odds or not first_guess) and not FormulaFlag(int(eye.flags)) & UNFIT:
            yield _Sight(key, eye, lane_shift_dpt(lens, formula))


def _places(
    planned: LensModel, planned_power_dpt: float | None, target_dpt: float, eyes: Mapping[str, EyeNumbers]
) -> Iterator[_Place]:
    """The places for which this eye's own optics give a power."""
    in_the_bag = _sights(planned, eyes)
    at_the_iris = tuple(_at_the_iris(in_the_bag, eyes))
    for position, sights in (
        (Fixation.SULCUS, in_the_bag),
        (Fixation.SULCUS_CAPTURED, in_the_bag),
        (Fixation.ANTERIOR_CHAMBER, at_the_iris),
    ):
        if sights:
            yield _Place(position, target_dpt, planned_power_dpt, sights)


def _at_the_iris(sights: Sequence[_Sight], eyes: Mapping[str, EyeNumbers]) -> Iterator[_Sight]:
    """The same eyes with the lens in the plane of the iris; none without a measured chamber depth.

    No constant of a lens is left in that place, so the lane of the constants does not matter either.
    """
    for one in sights:
        depth_mm = float(eyes[one.method].anterior_chamber_depth_mm)
        if not math.isnan(depth_mm):
            forward_mm = one.eye.lens_position_mm - depth_mm
            yield _Sight(one.method, moved_forward(one.eye, forward_mm), 0.0)


def _power_dpt(sights: Sequence[_Sight], forward_mm: float, target_dpt: float) -> float:
    """The middle of what the methods ask for."""
    asked = [moved_power_dpt(one.eye, forward_mm, target_dpt - one.shift_dpt) for one in sights]
    return float(np.median(np.array(asked, dtype=np.float64)))


def _refraction_dpt(sights: Sequence[_Sight], forward_mm: float, power_dpt: float) -> float:
    """The middle of what the methods expect."""
    expected = [moved_refraction_dpt(one.eye, forward_mm, power_dpt) + one.shift_dpt for one in sights]
    return float(np.median(np.array(expected, dtype=np.float64)))


def _nearest(powers: PowerRange, power_dpt: float) -> float | None:
    """The power made that is nearest; None where none lies within half a step."""
    nearest = min(powers.powers_dpt, key=lambda made: abs(made - power_dpt))
    return nearest if abs(nearest - power_dpt) <= powers.step_dpt / 2.0 + ROUNDING_DPT else None


@dataclass(frozen=True, slots=True)
class _Place:
    """One place in the eye, and what is asked of a lens there."""

    position: Fixation
    target_dpt: float
    planned_power_dpt: float | None
    sights: tuple[_Sight, ...]
    """With the planned lens."""

    @property
    def forward_mm(self) -> float:
        """In front of where the place is counted from."""
        return FORWARD[self.position].middle_mm

    def answer(self, lens: LensModel, own: tuple[_Sight, ...]) -> BackupLens | NotOffered | None:
        """What a lens can do here; None for one that nobody would think of here.

        `own` is the eye as the methods see it with this lens at the place its constants were found in.
        """
        barred = bar(lens, self.position)
        made_for_it = is_made_for(lens, self.position)
        if barred is not None:
            comes_to_mind = made_for_it or self.position is Fixation.SULCUS
            return NotOffered(lens.name, self.position, (barred,)) if comes_to_mind else None
        if not made_for_it:
            return None
        if self.position is Fixation.ANTERIOR_CHAMBER:
            return self._beside_own_constants(self._made(lens, self.sights), lens, own)
        if not own:
            return NotOffered(lens.name, self.position, (_no_constants(lens, self.position),))
        return self._beside_bag(self._made(lens, own), own, lens.powers)

    def orientation(self) -> BackupLens:
        """The power that a lens with the planned lens's constants would need here; not a lens to open."""
        needed = self._needed(None, self.sights)
        if self.position is Fixation.ANTERIOR_CHAMBER:
            return needed
        return self._beside_bag(needed, self.sights, HALF_DIOPTRES, self.planned_power_dpt)

    def _needed(self, model: str | None, sights: tuple[_Sight, ...]) -> BackupLens:
        middle_mm, least_mm, most_mm = FORWARD[self.position]
        ends_dpt = [_power_dpt(sights, forward_mm, self.target_dpt) for forward_mm in (least_mm, most_mm)]
        return BackupLens(
            position=self.position,
            model=model,
            methods=tuple(one.method for one in sights),
            power_for_target_dpt=_power_dpt(sights, middle_mm, self.target_dpt),
            power_range_dpt=(min(ends_dpt), max(ends_dpt)),
        )

    def _made(self, lens: LensModel, sights: tuple[_Sight, ...]) -> BackupLens:
        """The nearest power made of a lens, and what to expect of it."""
        needed = self._needed(lens.name, sights)
        power_dpt = _nearest(lens.powers, needed.power_for_target_dpt)
        return replace(
            needed,
            power_dpt=power_dpt,
            refraction_dpt=None if power_dpt is None else _refraction_dpt(sights, self.forward_mm, power_dpt),
            findings=tuple(_about_lens(lens, needed, power_dpt)),
        )

    def _beside_bag(
        self,
        found: BackupLens,
        sights: tuple[_Sight, ...],
        powers: PowerRange,
        bag_label_dpt: float | None = None,
    ) -> BackupLens:
        """The same beside the bag: its power there, what that would leave here, and the step rule."""
        bag_dpt = _power_dpt(sights, 0.0, self.target_dpt)
        label_dpt = _nearest(powers, bag_dpt) if bag_label_dpt is None else bag_label_dpt
        beside = replace(
            found,
            bag_power_dpt=bag_dpt,
            unchanged_refraction_dpt=None
            if label_dpt is None
            else _refraction_dpt(sights, self.forward_mm, label_dpt),
        )
        if self.position is Fixation.SULCUS_CAPTURED:
            return beside
        ruled_dpt = _nearest(HALF_DIOPTRES, bag_dpt) if label_dpt is None else label_dpt
        return beside if ruled_dpt is None else _beside_rule(beside, ruled_dpt)

    def _beside_own_constants(
        self, found: BackupLens, lens: LensModel, own: tuple[_Sight, ...]
    ) -> BackupLens:
        """The same beside what the lens's own constants ask for, unmoved: they were found in the chamber."""
        if not own:
            return found
        own_dpt = _power_dpt(own, 0.0, self.target_dpt)
        beside = replace(found, own_constants_power_dpt=own_dpt)
        lowest_dpt, highest_dpt = found.power_range_dpt
        is_near = abs(own_dpt - found.power_for_target_dpt) <= WAYS_APART_DPT
        if is_near or lowest_dpt <= own_dpt <= highest_dpt:
            return beside
        apart = warning(
            "chamber-ways-differ",
            f"By the place of the iris {lens.name} needs {found.power_for_target_dpt:.1f} D, by its own "
            f"constants {own_dpt:.1f} D. Check that they were found in the anterior chamber, and the depth.",
            _where(self.position),
            LENS_FORWARD,
        )
        return replace(beside, findings=(*beside.findings, apart))


def _beside_rule(found: BackupLens, bag_label_dpt: float) -> BackupLens:
    """The same beside the step rule for the power that the label in the bag would have said."""
    step = sulcus_step(bag_label_dpt)
    if int(step.flags):
        unanswered = note(
            "between-step-rows",
            f"The step rule has no row for {bag_label_dpt:g} D in the bag; it is not read between its rows.",
            _where(found.position),
            STEP_RULE,
        )
        return replace(found, findings=(*found.findings, unanswered))
    ruled_dpt = bag_label_dpt + float(step.step_dpt)
    if abs(ruled_dpt - found.power_for_target_dpt) <= RULE_APART_DPT:
        return replace(found, step_rule_dpt=ruled_dpt)
    apart = note(
        "step-rule-apart",
        f"The step rule says {ruled_dpt:g} D and this eye's optics {found.power_for_target_dpt:.1f} D. The "
        "rule starts from a rounded label and knows nothing of this eye.",
        _where(found.position),
        STEP_RULE,
    )
    return replace(found, step_rule_dpt=ruled_dpt, findings=(*found.findings, apart))


def _about_lens(lens: LensModel, needed: BackupLens, power_dpt: float | None) -> Iterator[Finding]:
    where = _where(needed.position)
    if power_dpt is None:
        yield warning(
            "backup-power-not-made",
            f"This eye needs {needed.power_for_target_dpt:.1f} D of {lens.name} here, and it is made from "
            f"{lens.powers.from_dpt:g} to {lens.powers.to_dpt:g} D.",
            where,
        )
    if lens.known_material is Material.SILICONE:
        yield note(
            "silicone-backup",
            f"{lens.name} is of silicone. A torn capsule makes it likelier that this eye will need silicone "
            "oil one day, and oil clings to such a lens.",
            where,
        )
    if lens.focus is None:
        yield note(
            "backup-focus-unknown",
            f"Nobody recorded whether {lens.name} has a single focus. One with more must stay in the bag.",
            where,
        )


def _no_constants(lens: LensModel, position: Fixation) -> Finding:
    return note(
        "backup-without-constants",
        f"{lens.name} has no constant that a counted method can use, so no power can be computed for it.",
        _where(position),
    )


def _findings(planned: LensModel, offered: Sequence[BackupLens]) -> Iterator[Finding]:
    """What holds for all of them together."""
    if not offered:
        yield note(
            "no-backup-power",
            "No method may be counted for this eye, so no power for another place is given.",
            "backup",
        )
        return
    yield note(
        "backup-from-memory",
        "How far forward a lens lies, and the step rule, are from memory of common practice; nobody has "
        "checked a paper. Weak zonules, a wide sulcus or a vault can put a lens elsewhere.",
        "backup",
        LENS_FORWARD,
    )
    yield from _none_in_catalogue(offered)
    if all(one.position is not Fixation.ANTERIOR_CHAMBER for one in offered):
        yield note(
            "chamber-depth-for-backup",
            "No power is given for the anterior chamber: the place of the iris is not known without a "
            "measured chamber depth.",
            _where(Fixation.ANTERIOR_CHAMBER),
        )
    else:
        yield note(
            "chamber-lens-asks",
            "A lens in the anterior chamber asks for a chamber deep enough, a good endothelium and an "
            "opening in the iris. None of that is checked here.",
            _where(Fixation.ANTERIOR_CHAMBER),
        )
    if planned.cylinders_dpt or planned.focus in {Focus.SEVERAL, Focus.EXTENDED}:
        yield note(
            "backup-does-less",
            f"{planned.name} does more than these lenses: with them astigmatism stays, and glasses are "
            "needed for other distances.",
            "backup",
        )


def _none_in_catalogue(offered: Sequence[BackupLens]) -> Iterator[Finding]:
    for position, kind in (
        (Fixation.SULCUS, "three-piece lens of a single focus, without cylinder,"),
        (Fixation.ANTERIOR_CHAMBER, "angle-supported or iris-fixated lens"),
    ):
        if any(one.position is position and one.model is None for one in offered):
            yield note(
                "no-backup-lens",
                f"The catalogue holds no {kind} that could be computed. The power shown is for a lens with "
                "the planned lens's constants: an orientation, no lens to open. Record the lens you keep.",
                _where(position),
            )


def _where(position: Fixation) -> str:
    return f"backup.{position}"

"""The other lenses to have ready in case the capsule tears, and which lens may go where."""

from __future__ import annotations

from dataclasses import dataclass

from zonule.case.finding import Finding, blocking, warning
from zonule.case.lens import IN_FRONT, Focus, Haptic, LensModel
from zonule.case.operation import Fixation

PLACES = (Fixation.SULCUS, Fixation.SULCUS_CAPTURED, Fixation.ANTERIOR_CHAMBER)
"""Where a lens may lie that cannot lie in the bag."""
IN_THE_SULCUS = frozenset({Fixation.SULCUS, Fixation.SULCUS_CAPTURED})
_OF_ONE_PIECE = frozenset({Haptic.SINGLE_PIECE, Haptic.PLATE})


@dataclass(frozen=True, slots=True)
class BackupLens:
    """One lens in one place, with the power that this eye needs there."""

    position: Fixation
    model: str | None
    """None for the planned lens's constants alone: an orientation, no lens to open."""
    methods: tuple[str, ...]
    """Whose middle the numbers are."""
    power_for_target_dpt: float
    power_range_dpt: tuple[float, float]
    """Lowest and highest for the target, should the lens lie as far forward or back as it well may."""
    bag_power_dpt: float | None = None
    """What the same lens would need in the bag; none for a lens that is not made for it."""
    power_dpt: float | None = None
    """The power made that is nearest to the one for the target, on whichever side."""
    refraction_dpt: float | None = None
    """To expect of `power_dpt`."""
    unchanged_refraction_dpt: float | None = None
    """What the power made nearest to `bag_power_dpt` would leave here."""
    step_rule_dpt: float | None = None
    """By the published rule of thumb; none where its table has no row, and for a captured optic."""
    own_constants_power_dpt: float | None = None
    """For a chamber lens: what its own constants ask for, beside what the place of the iris does."""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class NotOffered:
    """A lens that is not offered in a place, and why; never with numbers."""

    model: str
    position: Fixation
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Backup:
    """What to have ready beside the planned lens."""

    planned_model: str
    planned_power_dpt: float | None
    target_refraction_dpt: float
    lenses: tuple[BackupLens, ...]
    """By place, those made in the power first; the planned lens before others, and these by name."""
    not_offered: tuple[NotOffered, ...]
    findings: tuple[Finding, ...]
    """About all of them; those of a lens stand with it. They are about other lenses than the planned one, so
    they stop no plan."""

    def at(self, position: Fixation) -> tuple[BackupLens, ...]:
        """The lenses for one place."""
        return tuple(one for one in self.lenses if one.position is position)

    @property
    def every_finding(self) -> tuple[Finding, ...]:
        """Why lenses are not offered, then what is to be said of those that are, then of all of them."""
        barred = (finding for one in self.not_offered for finding in one.findings)
        offered = (finding for one in self.lenses for finding in one.findings)
        return tuple(dict.fromkeys((*barred, *offered, *self.findings)))


def is_made_for(lens: LensModel, position: Fixation) -> bool:
    """Whether a lens is held by what this place offers; not whether it may go there."""
    if position is Fixation.ANTERIOR_CHAMBER:
        return lens.haptic in IN_FRONT
    return lens.haptic is Haptic.THREE_PIECE


def bar(lens: LensModel, position: Fixation) -> Finding | None:
    """Why a lens must not go to a place, if anything is against it."""
    where = f"backup.{position}"
    if lens.haptic is None:
        return warning(
            "haptic-unknown",
            f"Nobody recorded the haptics of {lens.name}. It is offered for no place but the bag until they "
            "are; a single-piece lens must not lie in the sulcus.",
            where,
        )
    if position in IN_THE_SULCUS and lens.haptic in _OF_ONE_PIECE:
        return blocking(
            "single-piece-in-sulcus",
            f"{lens.name} is made in one piece and must not lie in the sulcus, captured or not: it chafes "
            "the iris and does not stay centred.",
            where,
        )
    if lens.cylinders_dpt or lens.focus in {Focus.SEVERAL, Focus.EXTENDED}:
        made_for = "toric" if lens.cylinders_dpt else "made for more than one distance"
        return blocking(
            "backup-needs-the-bag",
            f"{lens.name} is {made_for} and needs the bag to keep it centred and unturned. That the same "
            "lens is made without it is not taken for granted.",
            where,
        )
    return None


def may_lie(lens: LensModel, position: Fixation) -> bool:
    """Whether a lens can be offered for a place."""
    return is_made_for(lens, position) and bar(lens, position) is None

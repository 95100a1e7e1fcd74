"""What a row of the table of lens power formulas holds, and what a formula may read of an eye."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from zonule.science.arrays import Numbers
from zonule.science.lens_power import thin_lens


class EyeNumbers(NamedTuple):
    """What the formulas read of an eye; each field one number or an array over eyes or draws."""

    axial_length_mm: Numbers
    mean_k_dpt: Numbers
    """On the 1.3375 scale."""
    anterior_chamber_depth_mm: Numbers
    """From the epithelium; nan where it was not measured, as for everything below."""
    lens_thickness_mm: Numbers = math.nan
    corneal_thickness_mm: Numbers = math.nan
    posterior_radius_mm: Numbers = math.nan
    """Mean radius of the back of the cornea."""
    mean_k_before_dpt: Numbers = math.nan
    """Mean corneal power before surgery on the cornea, on the 1.3375 scale."""
    treated_at_cornea_dpt: Numbers = math.nan
    """Refractive change that surgery achieved, at the cornea; minus for a myopic treatment."""


class Family(StrEnum):
    """What kind of eye a formula was made for."""

    UNTOUCHED = "untouched"
    """An ordinary cornea, measured in front."""
    LONG_EYE = "long_eye"
    """The same with the length adjusted."""
    AFTER_SURGERY = "after_surgery"
    """A cornea reshaped by laser or cuts."""
    ANATOMICAL = "anatomical"
    """Both surfaces of the cornea and the place of the lens as measured, nothing tuned."""


class Optics(NamedTuple):
    """How an eye, as a formula sees it, turns a lens power into a refraction and back."""

    lens_power_dpt: Callable[..., Numbers]
    refraction_dpt: Callable[..., Numbers]
    inside_the_eye: Callable[[Any], Any]
    """The same eye, flagged and without an answer where the lens would lie outside it."""


THIN_LENS = Optics(thin_lens.lens_power_dpt, thin_lens.refraction_dpt, thin_lens.inside_the_eye)


@dataclass(frozen=True, slots=True)
class Formula:
    """One row of the table."""

    key: str
    name: str
    constant_names: tuple[str, ...]
    """Names of its constants; the first is the one that is optimised to zero the mean error."""
    reads: tuple[str, ...]
    """Fields of `EyeNumbers` that the kernel takes before the constants, in its order."""
    kernel: Callable[..., Any]
    """Gives the eye as the formula sees it."""
    first_guess: Callable[[float], tuple[float, ...]]
    """The constants that an A-constant suggests."""
    converted_fit_for_odds: bool
    """Whether constants converted from A may enter odds and medians."""
    source: str
    """Key in docs/sources.md."""
    status: str
    """What has been checked against the paper, in words for the surgeon."""
    optics: Optics = THIN_LENS
    family: Family = Family.UNTOUCHED
    corneas: tuple[str, ...] = ("none",)
    """Which corneas it may be used on, in the words of `corneal_surgery` in an eye file."""
    may_lack: tuple[str, ...] = ()
    """Those of `reads` that the kernel replaces, and flags, where they are not known."""
    repairs: str = ""
    """The row whose faults it mends and whose relation it is: it stands only where that one may not."""
    lengths_from_mm: float = 0.0
    """It is for eyes longer than this."""
    length_convention: str = ""
    """The only one its lengths may be measured by, in the words of an eye file; empty where any will do."""
    scatters_as: str = ""
    """A cheaper row with the same partial derivatives, by which measurement error is propagated."""
    told_as: str = ""
    """The method's key in files, where each kind of cornea has a row of its own; empty where it is `key`."""

    @property
    def method(self) -> str:
        """The key by which plans tell this method."""
        return self.told_as or self.key

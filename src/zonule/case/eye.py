"""One eye: its measurements, its history, and whether it was fit to be measured."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from zonule.case.biometry import Biometry
from zonule.case.patient import Side
from zonule.case.refraction import Refraction


class CornealSurgery(StrEnum):
    """What has happened to the cornea. Not said is unknown, and is asked; it is never taken as none."""

    NONE = "none"
    MYOPIC_LASER = "myopic_laser"
    HYPEROPIC_LASER = "hyperopic_laser"
    RADIAL_KERATOTOMY = "radial_keratotomy"
    KERATOCONUS = "keratoconus"
    GRAFT = "graft"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class History:
    """What the eye brings with it."""

    corneal_surgery: CornealSurgery = CornealSurgery.UNKNOWN
    glasses: Refraction | None = None
    treated_at_cornea_dpt: float | None = None
    """Refractive change achieved by laser, at the cornea; minus for a myopic treatment."""
    flat_power_before_dpt: float | None = None
    steep_power_before_dpt: float | None = None


class ContactLens(StrEnum):
    """What the patient wears on the eye."""

    NONE = "none"
    SOFT = "soft"
    RIGID = "rigid"


class Look(StrEnum):
    """The answer to a look at something."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    NOT_SEEN = "not_seen"


@dataclass(frozen=True, slots=True)
class Readiness:
    """Is this eye ready to be measured and listed at all? Unanswered questions are absent."""

    contact_lens: ContactLens | None = None
    contact_lens_out_days: float | None = None
    tear_film: Look | None = None
    macula: Look | None = None
    fundus: Look | None = None
    pressure_mmhg: float | None = None
    dilated_pupil_mm: float | None = None
    answered_on: date | None = None

    @property
    def unanswered(self) -> tuple[str, ...]:
        """Names of the questions that nobody has answered yet."""
        questions = ("contact_lens", "tear_film", "macula", "fundus", "pressure_mmhg")
        return tuple(name for name in questions if getattr(self, name) is None)


@dataclass(frozen=True, slots=True)
class Eye:
    """Everything on record about one eye before its operation."""

    side: Side
    biometry: Biometry
    history: History = field(default_factory=History)
    readiness: Readiness = field(default_factory=Readiness)

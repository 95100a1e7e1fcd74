"""Draw docs/pictures/axis-from-the-seat.svg: an invented right eye with its toric lens, seen from each place.

.venv/bin/python tools/draw_axis.py
"""

from __future__ import annotations

from pathlib import Path

from zonule.case.biometry import Biometry, Keratometry, Meridian
from zonule.case.case import Case
from zonule.case.eye import Eye, History, Readiness
from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.case.measured import Measured
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, Seat
from zonule.case.toric import MarkingName
from zonule.drawings.eye_face import eye_face
from zonule.drawings.ink import PAPER
from zonule.drawings.svg import picture, rectangle

OUT = Path(__file__).parent.parent / "docs" / "pictures" / "axis-from-the-seat.svg"
SIDE, MERIDIAN_DEG = Side.RIGHT, 104.0
SEATS = (None, Seat.SUPERIOR, Seat.TEMPORAL)
WIDTH_PX, HEIGHT_PX, GAP_PX = 320.0, 480.0, 16.0
LENS = LensModel("a toric lens", PowerRange(6.0, 30.0, 0.5), LensConstants(a_constant=118.4), optic_mm=6.0)


def case() -> Case:
    """The eye that is drawn."""
    cornea = Keratometry(
        flat=Meridian(power_dpt=Measured(42.75)),
        steep=Meridian(power_dpt=Measured(44.5)),
        steep_meridian_deg=100.0,
        keratometric_index=1.3375,
    )
    eye = Eye(
        SIDE,
        Biometry(keratometry=cornea, white_to_white_mm=Measured(11.8)),
        History(),
        Readiness(dilated_pupil_mm=7.0),
    )
    intent = Intent(
        lens_model=LENS.name,
        incision_meridian_deg=180.0,
        capsulorhexis_mm=5.2,
        marking=MarkingName.UPRIGHT_INK,
        lens_cylinder_dpt=2.25,
        lens_meridian_deg=MERIDIAN_DEG,
    )
    return Case("invented-right", Patient("invented"), SIDE, eye, intent=intent)


def drawing() -> str:
    """The three views side by side, as SVG."""
    faces = [eye_face(case(), seat=seat, lens=LENS) for seat in SEATS]
    size = (GAP_PX + len(faces) * (WIDTH_PX + GAP_PX), HEIGHT_PX)
    placed = [
        face.svg.replace(
            "<svg ",
            f'<svg x="{GAP_PX + place * (WIDTH_PX + GAP_PX):g}" y="0" width="{WIDTH_PX:g}" '
            f'height="{HEIGHT_PX:g}" ',
            1,
        )
        for place, face in enumerate(faces)
    ]
    whole = picture(
        "eye-seats",
        (0.0, 0.0, *size),
        [rectangle((0.0, 0.0), size, fill=PAPER.paper)],
        title="One axis, seen from three places",
        description=" ".join(face.description for face in faces),
    )
    return whole.svg.replace("</svg>", "".join(placed) + "</svg>") + "\n"


if __name__ == "__main__":
    OUT.write_text(drawing(), encoding="utf-8")

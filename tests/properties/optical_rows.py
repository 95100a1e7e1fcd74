"""Rows of surfaces that hypothesis builds: corneas, lenses and whole pseudophakic eyes within anatomy."""

from hypothesis import strategies as st

from zonule.science.optics.lens_design import shape_for_power
from zonule.science.optics.pseudophakic_eye import PseudophakicEye, pseudophakic_eye

CONICS = st.floats(-0.9, 0.4)
EYES = st.builds(
    lambda front, back, thickness, power, centre, behind, conic: pseudophakic_eye(
        front, back, thickness, shape_for_power(power), centre, centre + behind, conic, conic
    ),
    front=st.floats(7.0, 8.6),
    back=st.floats(5.8, 7.2),
    thickness=st.floats(0.4, 0.7),
    power=st.floats(5.0, 32.0),
    centre=st.floats(4.0, 6.0),
    behind=st.floats(15.5, 22.0),
    conic=CONICS,
)


def without_conics(eye: PseudophakicEye) -> PseudophakicEye:
    """The same eye with spherical surfaces."""
    return PseudophakicEye(
        eye.cornea_front._replace(conic=0.0),
        eye.cornea_back._replace(conic=0.0),
        eye.lens_front,
        eye.lens_back,
        eye.axial_length_mm,
    )

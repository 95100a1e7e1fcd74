"""T2 (Sheard, Smith & Cooke 2010): SRK/T with a corneal height that has no root.

Source: Sheard RM, Smith GT, Cooke DL. J Cataract Refract Surg 2010;36:1829-1834. The regression is from
memory (docs/sources.md, sheard-2010); what it replaces and what that gained was read in the abstract.
"""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.lens_power.lens_place import LensPlace
from zonule.science.lens_power.srk_t import lens_offset_mm, with_lens_at
from zonule.science.lens_power.thin_lens import ThinLensEye


def thin_lens_eye(axial_length_mm: Numbers, mean_k_dpt: Numbers, a_constant: Numbers) -> ThinLensEye:
    """The eye as T2 sees it: the optics of SRK/T, the lens placed by a plane in length and corneal power.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power on the 1.3375 scale, dioptres, 30 to 60.
    a_constant
        The lens's A-constant, without unit, that of SRK/T.

    Returns
    -------
    ThinLensEye
        Corneal power at index 1.333, length with the retina's thickness added, lens position.
        Never flagged by itself: neither root nor corrected length is left.

    Notes
    -----
    ``H2 = -10.326 + 0.32630 AL + 0.13533 K`` in place of the corneal height, sheard-2010.

    Examples
    --------
    >>> eye = thin_lens_eye(23.5, 43.5, 118.4)
    >>> round(float(eye.lens_position_mm), 4), int(eye.flags)
    (5.1068, 0)
    """
    height_mm = -10.326 + 0.32630 * axial_length_mm + 0.13533 * mean_k_dpt
    return with_lens_at(axial_length_mm, mean_k_dpt, LensPlace(height_mm + lens_offset_mm(a_constant), 0))

"""Haigis (Haigis, Lege, Miller & Schneider 2000).

Source: Haigis W, Lege B, Miller N, Schneider B. Graefes Arch Clin Exp Ophthalmol 2000;238:765-773; Haigis W,
The Haigis formula, in Shammas HJ (ed), Intraocular Lens Power Calculations, Slack 2004. Equation from memory,
confirmed numerically (docs/sources.md, haigis-2000).
"""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.lens_power.thin_lens import ThinLensEye


def thin_lens_eye(
    axial_length_mm: Numbers,
    mean_k_dpt: Numbers,
    anterior_chamber_depth_mm: Numbers,
    a0_mm: Numbers,
    a1: Numbers,
    a2: Numbers,
) -> ThinLensEye:
    """The eye as Haigis sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power on the 1.3375 scale, dioptres, 30 to 60; used for the optics only.
    anterior_chamber_depth_mm
        From the corneal *epithelium* to the lens, millimetres, 1.5 to 5.5. Never invented when missing.
    a0_mm, a1, a2
        The lens's three constants. Valid only together, and only for the length convention they were
        found with.

    Returns
    -------
    ThinLensEye
        Corneal power at index 1.3315, the length itself, and lens position
        ``a0 + a1 ACD + a2 AL``. Never flagged by itself.

    Notes
    -----
    Equations of haigis-2000.

    Examples
    --------
    >>> eye = thin_lens_eye(23.5, 43.5, 3.1, -1.0, 0.25, 0.22)
    >>> round(float(eye.lens_position_mm), 4)
    4.945
    """
    position_mm = a0_mm + a1 * anterior_chamber_depth_mm + a2 * axial_length_mm
    return ThinLensEye(331.5 * mean_k_dpt / 337.5, axial_length_mm, position_mm, 0, 1.0, 0.0)

"""How much a biometer's numbers scatter when the same eye is measured again.

Within-subject standard deviations in 266 cataract eyes, one reflectometry device: Langenbucher A et al.,
PLoS ONE 2025, doi 10.1371/journal.pone.0321786 (langenbucher-2025).
"""

from __future__ import annotations

AXIAL_LENGTH_SD_MM = 0.0177
MEAN_K_SD_DPT = 0.18
ANTERIOR_CHAMBER_DEPTH_SD_MM = 0.0247
LENS_THICKNESS_SD_MM = 0.0355
CORNEAL_THICKNESS_SD_UM = 3.6
WHITE_TO_WHITE_SD_MM = 0.1075

PUBLISHED_SD = {
    "axial_length_mm": AXIAL_LENGTH_SD_MM,
    "anterior_chamber_depth_mm": ANTERIOR_CHAMBER_DEPTH_SD_MM,
    "lens_thickness_mm": LENS_THICKNESS_SD_MM,
    "corneal_thickness_um": CORNEAL_THICKNESS_SD_UM,
    "white_to_white_mm": WHITE_TO_WHITE_SD_MM,
}
"""The same by the name of the quantity, each in the unit of its name."""

ULTRASOUND_LENGTH_SD_MM = {"immersion": 0.10, "contact": 0.15}
"""Scatter of an ultrasound length: common practice, no source. The one figure read, 0.30 mm within one
centre of the trial of norrby-biometry-trial, does not say what kind of limit it is."""

"""Does the lens's material suit what is in this eye? No paper stands behind these rules of the trade."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import Vitreous
from zonule.case.eye import CornealSurgery, Eye, Look
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.lens import LensModel, Material


def material_findings(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    """What speaks against this material in this eye."""
    material = lens.known_material
    if material is Material.SILICONE:
        yield _silicone(eye)
    elif material is Material.HYDROPHILIC_ACRYLIC:
        yield from _hydrophilic(eye)
    elif material is None:
        yield from _asked(lens, eye)


def _silicone(eye: Eye) -> Finding:
    if eye.biometry.vitreous is Vitreous.SILICONE_OIL:
        return blocking(
            "silicone-with-oil",
            "Silicone oil clings to a lens of silicone and clouds its view for good, and this eye holds oil. "
            "Choose a lens of another material.",
            "lens.material",
        )
    sentence = (
        "Silicone oil clings to a lens of silicone. If this eye may ever need oil, choose another material."
    )
    has_retinal_trouble = eye.biometry.vitreous in {Vitreous.GAS, Vitreous.VITRECTOMISED}
    if has_retinal_trouble or eye.readiness.fundus is Look.DOUBTFUL:
        return warning("silicone-may-meet-oil", sentence, "lens.material")
    return note("silicone-may-meet-oil", sentence, "lens.material")


def _hydrophilic(eye: Eye) -> Iterator[Finding]:
    clouding = "Lenses of hydrophilic acrylic have turned cloudy after gas or air in the eye"
    if eye.biometry.vitreous is Vitreous.GAS:
        yield warning(
            "hydrophilic-with-gas",
            f"{clouding}, and this eye holds gas. Consider another material.",
            "lens.material",
        )
    if eye.history.corneal_surgery is CornealSurgery.GRAFT:
        yield warning(
            "hydrophilic-with-graft",
            f"{clouding}, and a graft of the endothelium is held in place with it. Consider another "
            "material.",
            "lens.material",
        )


def _asked(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    there = [
        words
        for words, is_there in (
            ("silicone oil", eye.biometry.vitreous is Vitreous.SILICONE_OIL),
            ("gas", eye.biometry.vitreous is Vitreous.GAS),
            ("a corneal graft", eye.history.corneal_surgery is CornealSurgery.GRAFT),
        )
        if is_there
    ]
    if not there:
        return
    unknown = f"{lens.material!s} is not a material known here" if lens.material else "it is not recorded"
    yield warning(
        "material-asked",
        f"This eye has {' and '.join(there)}. What is the lens {lens.name} made of? As it stands, {unknown}. "
        "Silicone must not meet oil, and hydrophilic acrylic has turned cloudy with gas. Look it up and "
        "enter it.",
        "lens.material",
    )

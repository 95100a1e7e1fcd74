"""Does the material of the lens suit this eye? (common practice, no source)"""

from __future__ import annotations

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_readiness
from zonule.case.biometry import Vitreous
from zonule.case.eye import CornealSurgery, Eye, Look
from zonule.case.finding import COMMON_PRACTICE, Finding, Severity
from zonule.case.lens import Material
from zonule.case.material_checks import material_findings

OIL = ordinary_eye(vitreous=Vitreous.SILICONE_OIL)
GAS = ordinary_eye(vitreous=Vitreous.GAS)
GRAFT = ordinary_eye(corneal_surgery=CornealSurgery.GRAFT)
DOUBTFUL_FUNDUS = ordinary_eye(readiness=ordinary_readiness(fundus=Look.DOUBTFUL))


def found(material: Material | None, eye: Eye) -> list[Finding]:
    return list(material_findings(ordinary_lens(material=material), eye))


def test_a_silicone_lens_in_an_eye_with_silicone_oil_is_stopped() -> None:
    finding = the_one(found(Material.SILICONE, OIL), "silicone-with-oil")
    assert (finding.severity, finding.source) == (Severity.BLOCKING, COMMON_PRACTICE)


@pytest.mark.parametrize("eye", [ordinary_eye(vitreous=Vitreous.VITRECTOMISED), GAS, DOUBTFUL_FUNDUS])
def test_a_silicone_lens_is_warned_of_where_oil_may_be_needed(eye: Eye) -> None:
    assert codes(found(Material.SILICONE, eye), Severity.WARNING) == {"silicone-may-meet-oil"}


def test_a_silicone_lens_in_an_ordinary_eye_is_only_noted() -> None:
    assert codes(found(Material.SILICONE, ordinary_eye()), Severity.NOTE) == {"silicone-may-meet-oil"}


@pytest.mark.parametrize(("eye", "code"), [(GAS, "hydrophilic-with-gas"), (GRAFT, "hydrophilic-with-graft")])
def test_a_hydrophilic_lens_is_warned_of_with_gas_and_with_a_graft(eye: Eye, code: str) -> None:
    assert codes(found(Material.HYDROPHILIC_ACRYLIC, eye), Severity.WARNING) == {code}
    assert found(Material.HYDROPHILIC_ACRYLIC, ordinary_eye()) == []


@pytest.mark.parametrize("eye", [OIL, GAS, GRAFT])
@pytest.mark.parametrize("material", [None, Material("soft stuff")])
def test_a_material_that_nobody_knows_is_asked_where_it_matters(material: Material | None, eye: Eye) -> None:
    assert codes(found(material, eye), Severity.WARNING) == {"material-asked"}
    assert found(material, ordinary_eye()) == []


@pytest.mark.parametrize("eye", [OIL, GAS, GRAFT, ordinary_eye()])
@pytest.mark.parametrize("material", [Material.HYDROPHOBIC_ACRYLIC, Material.PMMA])
def test_other_materials_raise_nothing(material: Material, eye: Eye) -> None:
    assert found(material, eye) == []


def test_a_material_written_with_capitals_is_still_that_material() -> None:
    assert codes(found(Material("Silicone"), OIL)) == {"silicone-with-oil"}

"""A catalogue of lenses is read strictly, and what is written reads back."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from exchange.documents import EXAMPLES, ROOT, TODAY, UNTIMED
from exchange.test_exchange_docs import keys_of, words_of
from zonule.case.biometry import LengthConvention
from zonule.case.finding import Severity
from zonule.case.lens import (
    CONSTANTS,
    ConstantsAccount,
    ConstantsNotes,
    Focus,
    Haptic,
    LensConstants,
    LensGeometry,
    LensModel,
    Material,
    PowerRange,
)
from zonule.case.lens_checks import lens_problems
from zonule.demo.lenses import CATALOGUE, HAREBELL
from zonule.exchange.biometry_file import read_biometry
from zonule.exchange.lens_catalogue import is_lens_catalogue, lens_catalogue_text, read_lens_catalogue
from zonule.exchange.lens_forms import LensCatalogueForm
from zonule.exchange.refusal import RefusedFileError

PAGE = ROOT / "docs" / "reference" / "lens-catalogue.md"
EXAMPLE = EXAMPLES / "lenses" / "invented-lenses.json"
LENS: dict[str, Any] = {
    "model": "Thistle Loam",
    "powers_dpt": {"from": 6.0, "to": 30.0, "step": 0.5},
    "a_constant": 118.9,
    "constants_from": "our own 140 eyes",
}
SHAPE: dict[str, Any] = {
    "front_radius_mm": 13.36,
    "back_radius_mm": -13.36,
    "refractive_index": 1.47,
    "thickness_mm": 0.85,
    "at_power_dpt": 20.0,
}


def read(*lenses: dict[str, Any]) -> tuple[LensModel, ...]:
    return read_lens_catalogue(json.dumps({"zonule": 1, "lenses": lenses}).encode(), file="some.json")[0]


def refused(*lenses: dict[str, Any]) -> dict[str, str]:
    """Sentences by the place they are about."""
    with pytest.raises(RefusedFileError) as error:
        read(*lenses)
    assert all(finding.severity is Severity.BLOCKING for finding in error.value.findings)
    return {finding.where: finding.sentence for finding in error.value.findings}


def test_the_example_that_ships_is_the_demo_catalogue_and_raises_nothing() -> None:
    assert read_lens_catalogue(EXAMPLE.read_bytes(), file=EXAMPLE.name) == (CATALOGUE, ())


def test_the_demo_catalogue_has_one_of_each_kind() -> None:
    assert {lens.material for lens in CATALOGUE} == set(Material)
    assert {lens.haptic for lens in CATALOGUE} == set(Haptic) - {Haptic.IRIS_FIXATED}
    assert {lens.focus for lens in CATALOGUE} == {Focus.SINGLE, Focus.SEVERAL}
    assert any(lens.cylinders_dpt for lens in CATALOGUE)
    assert min(lens.powers.from_dpt for lens in CATALOGUE) < 0
    assert sum(lens.geometry is not None for lens in CATALOGUE) == 2
    assert all("invented" in lens.constants_from for lens in CATALOGUE)


def test_the_example_of_the_page_is_read_and_written_as_it_stands() -> None:
    written = re.findall(r"```json\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)[0]
    lenses, findings = read_lens_catalogue(written.encode(), file="page.json")
    assert findings == ()
    assert lenses[0].constants.own(("a0", "a1", "a2")) == (1.3, 0.4, 0.1)
    assert lenses[0].account_of(("a0", "a1", "a2")).lane_m == 4.0
    assert lenses[0].account_of(("a_constant",)).lane_m == 6.0
    assert json.loads(lens_catalogue_text(lenses)) == json.loads(written)


def test_the_page_names_every_key_and_word_and_no_other() -> None:
    text = PAGE.read_text(encoding="utf-8")
    named = {
        word for row in re.findall(r"^\| (.*)$", text, re.MULTILINE) for word in re.findall(r"`([^`]+)`", row)
    }
    assert named == keys_of(LensCatalogueForm) | words_of(LensCatalogueForm)


@pytest.mark.parametrize(
    ("wrong", "where", "words"),
    [
        ({"metrial": "silicone"}, "metrial", 'Did you mean "material"?'),
        ({"material": "hydrophobic acryl"}, "material", 'Did you mean "hydrophobic acrylic"?'),
        ({"material": "Silicone"}, "material", 'Did you mean "silicone"?'),
        (
            {"material": "glass"},
            "material",
            "Write hydrophobic acrylic, hydrophilic acrylic, silicone, pmma.",
        ),
        ({"haptic": "singel piece"}, "haptic", 'Did you mean "single piece"?'),
        ({"focus": 2}, "focus", "not known here"),
        ({"model": ""}, "model", "must not be empty"),
        ({"powers_dpt": {"from": 6, "to": 30, "step": -0.5}}, "powers_dpt.step", "must be 0.05 or more"),
        ({"powers_dpt": {"from": 30, "to": 6, "step": 0.5}}, "powers_dpt", "lowest first"),
        ({"cylinders_dpt": [1.5, 1.0]}, "cylinders_dpt", "the lowest first"),
        ({"cylinders_dpt": [-1.0]}, "cylinders_dpt", "without sign"),
        ({"a_constant": 109.9}, "a_constant", "outside 110 to 125"),
        ({"a_constant": None}, "", "No constant is recorded"),
        ({"haigis": [1.3, 0.4]}, "haigis", "at least 3"),
        ({"constants_lane_m": 600.0}, "constants_lane_m", "1 to 10 m"),
        (
            {"constants_notes": {"a_constant": {"lane_m": 600.0}}},
            "constants_notes.a_constant.lane_m",
            "1 to 10 m",
        ),
        ({"constants_notes": {"srk_t": {}}}, "constants_notes.srk_t", "not known here"),
        ({"optic_mm": 60.0}, "optic_mm", "4 to 8 mm"),
        ({"overall_mm": 130.0}, "overall_mm", "8 to 15 mm"),
        (
            {"geometry": SHAPE | {"at_power_dpt": 21.0}},
            "geometry",
            "20.00 D in the eye, and its label says 21.00 D",
        ),
        ({"geometry": SHAPE | {"back_radius_mm": 13.36}}, "geometry", "label says 20.00 D"),
        ({"geometry": {**SHAPE, "thickness_mm": 850}}, "geometry.thickness_mm", "between 0.1 and 3 mm"),
    ],
)
def test_a_wrong_key_is_told_with_its_place_and_the_name_of_the_lens(
    wrong: dict[str, Any], where: str, words: str
) -> None:
    told = refused(LENS | {"model": "Other One"}, LENS | wrong)
    place = f"lenses.1.{where}".rstrip(".")
    assert set(told) == {place}
    assert words in told[place]
    if wrong.get("model") is None:
        assert told[place].startswith('"Thistle Loam": ')


@pytest.mark.parametrize("key", sorted(set(SHAPE)))
def test_a_shape_is_whole(key: str) -> None:
    told = refused(LENS | {"geometry": {name: value for name, value in SHAPE.items() if name != key}})
    assert set(told) == {f"lenses.0.geometry.{key}"}


def test_every_wrong_lens_is_told_at_once() -> None:
    told = refused(LENS | {"model": "A", "a_constant": 1.9}, LENS, LENS | {"model": "B", "optic_mm": 60.0})
    assert set(told) == {"lenses.0.a_constant", "lenses.2.optic_mm"}


def test_a_name_that_stands_there_twice_is_refused_whatever_its_capitals() -> None:
    assert set(refused(LENS, LENS | {"model": "thistle  LOAM"})) == {"lenses.0.model", "lenses.1.model"}


def test_an_unusual_constant_and_a_missing_origin_are_told_and_taken() -> None:
    lens = {name: value for name, value in LENS.items() if name != "constants_from"} | {"a_constant": 120.1}
    lenses, findings = read_lens_catalogue(
        json.dumps({"zonule": 1, "lenses": [lens]}).encode(), file="some.json"
    )
    assert lenses[0].constants.a_constant == 120.1
    assert {finding.code for finding in findings} == {"unusual-constant", "constants-origin-missing"}
    front = lens | {"haptic": "angle supported", "a_constant": 115.0, "constants_from": "x"}
    assert read_lens_catalogue(json.dumps({"zonule": 1, "lenses": [front]}).encode(), file="f")[1] == ()


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[]",
        '{"zonule": 2, "lenses": []}',
        '{"zonule": 1, "lenses": []}',
        '{"zonule": 1, "lenses": [3]}',
        '{"zonule": 1, "lenses": 3}',
        '{"zonule": 1, "lenses": [], "lenses": []}',
        '{"zonule": 1}',
    ],
)
def test_what_is_no_catalogue_is_refused(text: str) -> None:
    with pytest.raises(RefusedFileError):
        read_lens_catalogue(text.encode(), file="some.json")


def test_a_catalogue_is_told_by_its_content() -> None:
    assert is_lens_catalogue(EXAMPLE.read_bytes())
    assert is_lens_catalogue(b"\xef\xbb\xbf" + EXAMPLE.read_bytes())
    assert not is_lens_catalogue((EXAMPLES / "ordinary-eye.json").read_bytes())
    assert not is_lens_catalogue((EXAMPLES / "clinic.csv").read_bytes())


def test_a_catalogue_among_the_measurements_is_told_where_it_belongs() -> None:
    with pytest.raises(RefusedFileError, match="page of lenses"):
        read_biometry(EXAMPLE.read_bytes(), file="lenses.json", today=TODAY)


WORDS = st.text(
    st.characters(min_codepoint=32, exclude_characters="\x7f", exclude_categories=["Cs"]), max_size=20
).map(str.strip)
FEW = st.none() | st.floats(1.0, 10.0)
ACCOUNTS = st.builds(
    ConstantsAccount, WORDS, FEW, st.none() | st.sampled_from(LengthConvention), WORDS
).filter(lambda account: account != ConstantsAccount())
LENSES = st.builds(
    LensModel,
    name=WORDS.filter(bool),
    powers=st.builds(PowerRange, st.floats(-20, 20), st.floats(20, 60), st.floats(0.05, 5)),
    constants=st.builds(
        LensConstants,
        st.floats(110, 125),
        st.none() | st.floats(-3.4, 4.4),
        st.none() | st.floats(2, 8),
        st.none() | st.just((1.3, 0.4, 0.1)),
        st.none() | st.floats(0, 0.8),
    ),
    optic_mm=st.none() | st.floats(4, 8),
    material=st.none() | st.sampled_from(Material),
    constants_from=WORDS,
    constants_lane_m=FEW,
    constants_length=st.none() | st.sampled_from(LengthConvention),
    biometer_family=WORDS,
    constants_notes=st.builds(ConstantsNotes, **dict.fromkeys(CONSTANTS, st.none() | ACCOUNTS)),
    overall_mm=st.none() | st.floats(8, 15),
    haptic=st.none() | st.sampled_from(Haptic),
    focus=st.none() | st.sampled_from(Focus),
    cylinders_dpt=st.lists(st.floats(0.25, 20), unique=True, max_size=4).map(
        lambda some: tuple(sorted(some))
    ),
    geometry=st.none() | st.just(HAREBELL.geometry),
)


@UNTIMED
@given(LENSES)
@example(HAREBELL)
def test_any_lens_that_may_be_kept_is_written_and_read_back(lens: LensModel) -> None:
    if any(lens_problems(lens)):
        return
    assert read_lens_catalogue(lens_catalogue_text([lens]).encode(), file="x")[0] == (lens,)


def damages() -> list[Callable[[dict[str, Any]], None]]:
    """Ways to put something that does not belong there in the place of each key of a whole lens."""
    return [
        lambda lens, key=key: lens.__setitem__(key, [{"x": None}])  # type: ignore[misc]
        for key in json.loads(lens_catalogue_text([HAREBELL]))["lenses"][0]
    ]


@pytest.mark.parametrize("damage", damages())
def test_a_damaged_key_never_ends_in_anything_but_a_refusal(damage: Callable[[dict[str, Any]], None]) -> None:
    whole = json.loads(EXAMPLE.read_text(encoding="utf-8"))
    damaged = copy.deepcopy(whole)
    damage(damaged["lenses"][0])
    with pytest.raises(RefusedFileError):
        read_lens_catalogue(json.dumps(damaged).encode(), file="x")
    assert isinstance(HAREBELL.geometry, LensGeometry)

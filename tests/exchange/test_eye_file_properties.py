"""Laws of the eye file, for every eye and for any bytes."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st

from exchange.documents import TODAY, UNTIMED, eye_document
from zonule.case.biometry import ChamberFrom, CorneaKind, LengthConvention, LensStatus, Method, Vitreous
from zonule.case.eye import ContactLens, CornealSurgery, Look
from zonule.case.eye_checks import eye_findings
from zonule.case.lens import CONSTANTS, Focus, Haptic
from zonule.case.patient import Sex, Side
from zonule.case.plan import FearedSide
from zonule.errors import ExchangeError
from zonule.exchange.eye_file import eye_as_dict, read_eye_request

NUMBERS = st.floats(-1e6, 1e6) | st.integers(-1000, 1000)
POSITIVE = st.floats(0.0, 1e5)
DEGREES = st.floats(0.0, 180.0)
TEXTS = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=20)
DAYS = st.dates().map(lambda day: day.isoformat())
QUANTITIES = (
    "axial_length_mm",
    "flat_power_dpt",
    "steep_power_dpt",
    "flat_radius_mm",
    "steep_radius_mm",
    "anterior_chamber_depth_mm",
    "lens_thickness_mm",
    "corneal_thickness_um",
    "white_to_white_mm",
)


def words(enumeration: Any) -> st.SearchStrategy[str]:
    return st.sampled_from([str(word) for word in enumeration])


def group(**keys: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Any subset of these keys."""
    return st.fixed_dictionaries({}, optional=keys)


def with_readings(biometry: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    measured = [name for name in QUANTITIES if name in biometry]
    if not measured:
        return st.just(biometry)
    readings = st.dictionaries(
        st.sampled_from(measured), st.lists(NUMBERS, min_size=1, max_size=4), max_size=3
    )
    spread = st.fixed_dictionaries({"sd": POSITIVE, "n": st.integers(1, 20)})
    return readings.flatmap(
        lambda repeats: st.dictionaries(st.sampled_from(measured), spread, max_size=3).map(
            lambda spreads: {
                **biometry,
                "repeats": repeats,
                "spreads": {name: one for name, one in spreads.items() if name not in repeats},
            }
        )
    )


OTHER_CORNEAS = st.lists(
    group(
        measured_on=DAYS,
        device=TEXTS,
        flat_power_dpt=NUMBERS,
        steep_power_dpt=NUMBERS,
        flat_radius_mm=NUMBERS,
        steep_radius_mm=NUMBERS,
        steep_meridian_deg=DEGREES,
        keratometric_index=NUMBERS,
        cornea_kind=words(CorneaKind),
    ),
    max_size=3,
)
BIOMETRIES = group(
    other_corneas=OTHER_CORNEAS,
    posterior_flat_radius_mm=NUMBERS,
    posterior_steep_radius_mm=NUMBERS,
    posterior_steep_meridian_deg=DEGREES,
    measured_on=DAYS,
    device=TEXTS,
    method=words(Method),
    length_convention=words(LengthConvention),
    steep_meridian_deg=DEGREES,
    keratometric_index=NUMBERS,
    cornea_kind=words(CorneaKind),
    chamber_from=words(ChamberFrom),
    lens_status=words(LensStatus),
    vitreous=words(Vitreous),
    **dict.fromkeys(QUANTITIES, NUMBERS),
).flatmap(with_readings)
GLASSES = st.fixed_dictionaries(
    {"sphere_dpt": st.floats(-40, 30), "axis_deg": DEGREES, "vertex_mm": st.floats(0, 20)},
    optional={"cylinder_dpt": st.floats(-15, 15)},
)
HISTORIES = group(
    corneal_surgery=words(CornealSurgery),
    glasses=GLASSES,
    treated_at_cornea_dpt=NUMBERS,
    flat_power_before_dpt=NUMBERS,
    steep_power_before_dpt=NUMBERS,
)
READINESS = group(
    contact_lens=words(ContactLens),
    contact_lens_out_days=NUMBERS,
    tear_film=words(Look),
    macula=words(Look),
    fundus=words(Look),
    pressure_mmhg=NUMBERS,
    dilated_pupil_mm=NUMBERS,
    answered_on=DAYS,
)
SHAPE = (
    "front_radius_mm",
    "back_radius_mm",
    "refractive_index",
    "thickness_mm",
    "at_power_dpt",
    "front_conic",
)
LENSES = st.fixed_dictionaries(
    {"model": TEXTS, "powers_dpt": st.just({"from": 6.0, "to": 30.0, "step": 0.5})},
    optional={
        "a_constant": NUMBERS,
        "surgeon_factor": NUMBERS,
        "p_acd": NUMBERS,
        "haigis": st.lists(NUMBERS, min_size=3, max_size=3),
        "optic_mm": NUMBERS,
        "material": TEXTS,
        "constants_from": TEXTS,
        "constants_lane_m": st.floats(0.5, 10.0),
        "constants_length_convention": words(LengthConvention),
        "c_constant": NUMBERS,
        "biometer_family": TEXTS,
        "constants_notes": st.dictionaries(
            st.sampled_from(CONSTANTS), st.fixed_dictionaries({"lane_m": st.floats(0.5, 10.0)}), max_size=3
        ),
        "overall_mm": NUMBERS,
        "haptic": words(Haptic),
        "focus": words(Focus),
        "cylinders_dpt": st.lists(POSITIVE, max_size=3),
        "geometry": st.fixed_dictionaries(dict.fromkeys(SHAPE, NUMBERS)),
    },
)
LESSONS = st.fixed_dictionaries(
    {
        "key": TEXTS,
        "surgeon": TEXTS,
        "method": TEXTS,
        "lens_model": TEXTS,
        "constants": st.lists(NUMBERS, min_size=1, max_size=3),
        "first_on": DAYS,
        "last_on": DAYS,
        "eyes": st.integers(1, 1000),
        "mean_error_dpt": NUMBERS,
        "weight": st.floats(0, 1),
        "offset_dpt": NUMBERS,
        "offset_sd_dpt": POSITIVE,
        "scale_dpt": st.floats(0.01, 10),
        "learned_on": DAYS,
    }
)
ONE_EYE: dict[str, st.SearchStrategy[Any]] = {
    "biometry": BIOMETRIES,
    "history": HISTORIES,
    "readiness": READINESS,
}
DOCUMENTS = st.fixed_dictionaries(
    {
        "zonule": st.just(1),
        "eye": words(Side),
        "patient": st.fixed_dictionaries(
            {"key": TEXTS}, optional={"name": TEXTS, "born_on": DAYS, "sex": words(Sex)}
        ),
    },
    optional={
        **ONE_EYE,
        "fellow": group(**ONE_EYE),
        "target_refraction_dpt": NUMBERS,
        "lens": LENSES,
        "feared_side": words(FearedSide),
        "surgeon": TEXTS,
        "lessons": st.lists(LESSONS, max_size=2),
    },
)


@UNTIMED
@given(DOCUMENTS)
@example(eye_document())
def test_what_is_written_reads_back_as_it_was(document: dict[str, Any]) -> None:
    patient, request, _ = read_eye_request(json.dumps(document), file="eye.json")
    written = json.dumps(eye_as_dict(patient, request), allow_nan=False)
    assert read_eye_request(written, file="eye.json")[:2] == (patient, request)
    assert '": null' not in written


@UNTIMED
@given(DOCUMENTS)
@example(eye_document(biometry__flat_radius_mm=0, biometry__other_corneas=[{"flat_power_dpt": 0}]))
def test_every_eye_that_can_be_read_can_be_checked(document: dict[str, Any]) -> None:
    _, request, _ = read_eye_request(json.dumps(document), file="eye.json")
    for eye in filter(None, (request.eye, request.fellow)):
        assert all(finding.sentence for finding in eye_findings(eye, TODAY))


@UNTIMED
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    _read_or_refuse(data)


@UNTIMED
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    _read_or_refuse(text)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)
PLACES = (
    "eye",
    "zonule",
    "patient",
    "biometry",
    "fellow",
    "history__glasses",
    "biometry__repeats",
    "biometry__other_corneas",
    "lens__powers_dpt",
    "lens__haigis",
    "lessons",
    "nonsense",
)


@UNTIMED
@given(st.sampled_from(PLACES), JSON)
def test_anything_in_any_place_is_read_or_refused(place: str, value: Any) -> None:
    _read_or_refuse(json.dumps(eye_document(**{place: value})))


@UNTIMED
@given(st.integers(0, len(json.dumps(eye_document())) - 1))
def test_no_half_of_a_file_is_taken_for_the_whole(length: int) -> None:
    try:
        read_eye_request(json.dumps(eye_document())[:length], file="e")
    except ExchangeError:
        return
    raise AssertionError("a half-written file was read")


def _read_or_refuse(text: str | bytes) -> None:
    try:
        read_eye_request(text, file="e")
    except ExchangeError as error:
        assert str(error)  # noqa: PT017 - being readable is what is asked of the refusal

"""Records go into documents and come back the same."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from datetime import UTC, datetime, timedelta, timezone
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.examples import (
    ordinary_axis_visit,
    ordinary_eye,
    ordinary_incision_lesson,
    ordinary_intent,
    ordinary_lens,
    ordinary_lesson,
    ordinary_operation,
    ordinary_patient,
    ordinary_readiness,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.axis_visit import AxisVisit
from zonule.case.canonical import canonical_text
from zonule.case.eye import Eye
from zonule.case.finding import warning
from zonule.case.incision import IncisionLesson
from zonule.case.lens import LensConstants, LensModel, Material, PowerRange
from zonule.case.lesson import Lesson
from zonule.case.operation import Operation
from zonule.case.patient import Patient
from zonule.case.plan import Intent, SignedPlan
from zonule.case.refraction import Refraction
from zonule.case.review import Review
from zonule.errors import StorageError
from zonule.storage.documents import as_document, from_document, many_as_document, many_from_document

KINDS: tuple[type, ...] = (
    Patient,
    Eye,
    Intent,
    SignedPlan,
    Operation,
    AxisVisit,
    Review,
    LensModel,
    Lesson,
    IncisionLesson,
)
"""Every kind of record that is kept as a document."""

OLD_LENS = (
    '{"name":"Meadow One","powers":{"from_dpt":6.0,"to_dpt":30.0,"step_dpt":0.5},'
    '"constants":{"a_constant":118.4,"surgeon_factor":null,"p_acd":null,"haigis":null},"optic_mm":null,"material":MATERIAL,"constants_from":"",'
    '"constants_lane_m":6.0,"constants_length":null}'
)
"""As the first version wrote a lens."""

FINITE = st.floats(allow_nan=False, allow_infinity=False)
LEAVES: dict[Any, st.SearchStrategy[Any]] = {
    float: FINITE,
    datetime: st.datetimes(timezones=st.just(UTC)),
    PowerRange: st.builds(
        PowerRange,
        from_dpt=st.floats(-20, 20),
        to_dpt=st.floats(20, 60),
        step_dpt=st.floats(0, 5, exclude_min=True),
    ),
    Refraction: st.builds(Refraction, FINITE, FINITE, FINITE, FINITE, st.none() | FINITE),
}
"""What may not be just any value of its type."""


def _any(hint: Any) -> st.SearchStrategy[Any]:
    """Any value of a type, down to its last optional field."""
    inner = get_args(hint)
    if hint in LEAVES:
        return LEAVES[hint]
    if isinstance(hint, type) and is_dataclass(hint):
        return st.builds(hint, **{name: _any(one) for name, one in get_type_hints(hint).items()})
    if get_origin(hint) is UnionType:
        return st.one_of(*map(_any, inner))
    if get_origin(hint) is dict:
        return st.dictionaries(_any(inner[0]), _any(inner[1]), max_size=3)
    if get_origin(hint) is tuple:
        many = inner[-1] is Ellipsis
        return st.lists(_any(inner[0]), max_size=3).map(tuple) if many else st.tuples(*map(_any, inner))
    return st.from_type(hint)


@pytest.mark.parametrize("kind", KINDS)
@settings(deadline=None, max_examples=30)
@given(data=st.data())
def test_any_record_comes_back_exactly(kind: type, data: st.DataObject) -> None:
    record = data.draw(_any(kind))
    read: Any = from_document(kind, as_document(record))
    assert read == record
    assert _types(read) == _types(record)
    assert canonical_text(read) == canonical_text(record)


@pytest.mark.parametrize(
    "record",
    [
        ordinary_patient(),
        ordinary_patient(name='Ångström "Ada"\n\t\\ \x00 \U0001f441', born_on=None, sex=None),
        ordinary_eye(repeats={"axial_length_mm": (23.49, 0.1 + 0.2, 5e-324)}, readiness=ordinary_readiness()),
        ordinary_intent(),
        ordinary_signed_plan(warnings=(warning("shallow-chamber", "The chamber is shallow.", "biometry"),)),
        ordinary_operation(),
        ordinary_review(),
        ordinary_lens(constants=LensConstants(118.4, 1.5, 5.2, (1.3, 0.4, 0.1))),
        ordinary_lesson(),
        ordinary_axis_visit(),
        ordinary_incision_lesson(),
    ],
    ids=lambda record: type(record).__name__,
)
def test_the_ordinary_records_come_back_exactly(record: Any) -> None:
    read = from_document(type(record), as_document(record))
    assert read == record
    assert _types(read) == _types(record)


def test_a_lens_keeps_the_order_of_its_constants() -> None:
    lens = ordinary_lens(constants=LensConstants(haigis=(-1.3, 0.4, 0.1)))
    assert from_document(LensModel, as_document(lens)).constants.haigis == (-1.3, 0.4, 0.1)


def test_predictions_keep_the_order_in_which_they_were_displayed() -> None:
    plan = ordinary_signed_plan(method_predictions_dpt={"srk_t": 0.1, "haigis": 0.2, "hoffer_q": 0.3})
    read = from_document(SignedPlan, as_document(plan))
    assert list(read.method_predictions_dpt) == ["srk_t", "haigis", "hoffer_q"]


def test_a_moment_keeps_its_microseconds_and_its_zone() -> None:
    moment = datetime(2026, 11, 9, 8, 30, 1, 7, tzinfo=timezone(timedelta(hours=-3, minutes=-30)))
    read = from_document(SignedPlan, as_document(ordinary_signed_plan(signed_at=moment)))
    assert read.signed_at.isoformat() == "2026-11-09T08:30:01.000007-03:30"


def test_a_field_that_an_older_document_lacks_takes_its_default() -> None:
    document = as_document(ordinary_operation(notes="")).replace(',"notes":""', "")
    assert "notes" not in document
    assert from_document(Operation, document) == ordinary_operation(notes="")


@pytest.mark.parametrize(
    "document", ["", "{", "[]", '{"side": "upper"}', '{"from_dpt": 9, "to_dpt": 1, "step_dpt": 1}']
)
@pytest.mark.parametrize("kind", [Eye, PowerRange])
def test_a_document_that_cannot_be_read_says_what_it_was(kind: type, document: str) -> None:
    with pytest.raises(StorageError, match=kind.__name__):
        from_document(kind, document)


@given(visits=st.lists(_any(AxisVisit), max_size=3).map(tuple))
def test_several_records_come_back_exactly_from_one_document(visits: tuple[AxisVisit, ...]) -> None:
    read = many_from_document(AxisVisit, many_as_document(AxisVisit, visits))
    assert read == visits
    assert _types(read) == _types(visits)


def test_no_document_of_several_records_is_none_of_them() -> None:
    assert many_from_document(AxisVisit, None) == ()


def test_several_records_that_cannot_be_read_say_what_they_were() -> None:
    with pytest.raises(StorageError, match="AxisVisit"):
        many_from_document(AxisVisit, '[{"seen_on":"soon"}]')


def _types(value: Any) -> Any:
    """The type of everything inside, for equality alone takes 23 for 23.0 and a word for an enum."""
    if is_dataclass(value):
        return type(value), tuple(_types(getattr(value, one.name)) for one in fields(value))
    if isinstance(value, dict):
        return dict, tuple((key, _types(one)) for key, one in value.items())
    if isinstance(value, tuple):
        return tuple, tuple(map(_types, value))
    return type(value)


@pytest.mark.parametrize(
    ("written", "material"),
    [
        ('"hydrophobic acrylic"', Material.HYDROPHOBIC_ACRYLIC),
        ('""', None),
        ("null", None),
    ],
)
def test_a_lens_of_an_earlier_version_is_read(written: str, material: Material | None) -> None:
    lens = from_document(LensModel, OLD_LENS.replace("MATERIAL", written))
    assert lens.material is material
    assert (lens.haptic, lens.cylinders_dpt, lens.geometry) == (None, (), None)


def test_a_material_in_words_of_its_own_is_kept_as_written_so_that_a_signature_still_fits() -> None:
    lens = from_document(LensModel, OLD_LENS.replace("MATERIAL", '"Soft stuff"'))
    assert lens.material is not None
    assert (str(lens.material), lens.known_material) == ("Soft stuff", None)
    assert '"material":"Soft stuff"' in canonical_text(lens)
    assert from_document(LensModel, as_document(lens)) == lens


def test_what_a_later_version_may_say_of_a_lens_changes_no_hash_until_it_is_said() -> None:
    lens = from_document(LensModel, OLD_LENS.replace("MATERIAL", '""'))
    assert set(json.loads(canonical_text(lens))) == {"name", "powers", "constants", "constants_lane_m"}

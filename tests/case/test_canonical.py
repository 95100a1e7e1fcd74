"""One text for one input."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from fakes.examples import ordinary_eye, ordinary_lens, ordinary_request
from zonule.case.canonical import canonical_text, digest, seed_from
from zonule.case.measured import Measured
from zonule.case.plan import FearedSide
from zonule.errors import OutOfRangeError


@dataclass(frozen=True)
class Before:
    length_mm: float


@dataclass(frozen=True)
class After:
    length_mm: float
    thickness_mm: float | None = None
    remark: str = ""
    repeats: tuple[float, ...] = ()


def test_a_field_that_a_later_version_adds_does_not_change_the_text() -> None:
    assert canonical_text(Before(23.5)) == canonical_text(After(23.5))
    assert canonical_text(After(23.5)) != canonical_text(After(23.5, 0.5))


def test_a_whole_number_is_the_same_with_and_without_its_decimal_point() -> None:
    assert canonical_text(Before(23)) == canonical_text(Before(23.0))
    assert canonical_text(Before(-0.0)) == canonical_text(Before(0.0))


def test_zero_and_false_are_not_absent() -> None:
    assert canonical_text({"a": 0.0, "b": False}) == '{"a":0,"b":false}'


def test_a_moment_is_the_same_in_every_time_zone() -> None:
    here = datetime(2026, 11, 9, 9, 30, tzinfo=timezone(timedelta(hours=1)))
    assert canonical_text({"at": here}) == canonical_text({"at": here.astimezone(UTC)})


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_number_that_is_none_has_no_text(value: float) -> None:
    with pytest.raises(OutOfRangeError, match="infinite or not a number"):
        canonical_text(Before(value))


def test_what_is_no_record_has_no_text() -> None:
    with pytest.raises(TypeError, match="no canonical form for set"):
        canonical_text({"a": {1}})


def test_the_same_request_gives_the_same_seed() -> None:
    assert seed_from(canonical_text(ordinary_request())) == seed_from(canonical_text(ordinary_request()))


@pytest.mark.parametrize(
    "changes",
    [
        {"eye": ordinary_eye(axial_length_mm=23.51)},
        {"eye": ordinary_eye(axial_length_mm=Measured(23.5, sd=0.05))},
        {"lens": ordinary_lens(a_constant=118.5)},
        {"target_refraction_dpt": -0.25},
        {"feared_side": FearedSide.MYOPIC},
    ],
)
def test_another_request_gives_another_seed(changes: dict[str, Any]) -> None:
    other = replace(ordinary_request(), **changes)
    assert seed_from(canonical_text(other)) != seed_from(canonical_text(ordinary_request()))


def test_a_digest_is_a_sha256() -> None:
    assert digest("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"

"""Which lens may lie where when the bag does not hold it."""

from typing import Any

import pytest

from fakes.backups import chamber_lens, single_piece, three_piece
from zonule.case.backup import PLACES, bar, is_made_for, may_lie
from zonule.case.finding import Severity
from zonule.case.lens import Focus, Haptic
from zonule.case.operation import Fixation

SULCUS = (Fixation.SULCUS, Fixation.SULCUS_CAPTURED)
POSTERIOR_HAPTICS = (Haptic.SINGLE_PIECE, Haptic.PLATE)


@pytest.mark.parametrize("haptic", POSTERIOR_HAPTICS)
@pytest.mark.parametrize("place", SULCUS)
def test_a_lens_of_one_piece_is_barred_from_the_sulcus_captured_or_not(
    haptic: Haptic, place: Fixation
) -> None:
    barred = bar(single_piece(haptic=haptic), place)
    assert barred is not None
    assert (barred.code, barred.severity) == ("single-piece-in-sulcus", Severity.BLOCKING)
    assert barred.source == "common practice, no source"


@pytest.mark.parametrize("haptic", POSTERIOR_HAPTICS)
@pytest.mark.parametrize("place", PLACES)
def test_a_lens_of_one_piece_may_lie_nowhere_but_in_the_bag(haptic: Haptic, place: Fixation) -> None:
    assert not may_lie(single_piece(haptic=haptic), place)


@pytest.mark.parametrize("place", PLACES)
def test_a_lens_of_unrecorded_haptics_is_asked_about_and_may_lie_nowhere(place: Fixation) -> None:
    barred = bar(three_piece(haptic=None), place)
    assert barred is not None
    assert (barred.code, barred.severity) == ("haptic-unknown", Severity.WARNING)
    assert not may_lie(three_piece(haptic=None), place)


@pytest.mark.parametrize("place", SULCUS)
def test_a_three_piece_lens_may_lie_in_the_sulcus(place: Fixation) -> None:
    assert may_lie(three_piece(), place)
    assert not may_lie(chamber_lens(), place)


@pytest.mark.parametrize("haptic", [Haptic.ANGLE_SUPPORTED, Haptic.IRIS_FIXATED])
def test_a_lens_held_by_angle_or_iris_may_lie_in_the_chamber(haptic: Haptic) -> None:
    assert may_lie(chamber_lens(haptic=haptic), Fixation.ANTERIOR_CHAMBER)
    assert not may_lie(three_piece(), Fixation.ANTERIOR_CHAMBER)


@pytest.mark.parametrize(
    "special", [{"cylinders_dpt": (1.5, 2.25)}, {"focus": Focus.SEVERAL}, {"focus": Focus.EXTENDED}]
)
@pytest.mark.parametrize("place", SULCUS)
def test_a_toric_lens_or_one_of_several_foci_needs_the_bag(special: dict[str, Any], place: Fixation) -> None:
    lens = three_piece(**special)
    barred = bar(lens, place)
    assert barred is not None
    assert barred.code == "backup-needs-the-bag"
    assert is_made_for(lens, place)
    assert not may_lie(lens, place)

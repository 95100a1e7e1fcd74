"""Lengths of one eye from a DICOM object: the total, the segments, and what lies behind them."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from zonule.case.biometry import (
    Biometry,
    ChamberFrom,
    Keratometry,
    LengthConvention,
    LensStatus,
    Meridian,
    Method,
    Vitreous,
)
from zonule.case.finding import Finding, note, warning
from zonule.case.measured import Measured
from zonule.exchange.dicom_object import DICOM, Place, code, items, number, tag, words
from zonule.exchange.refusal import refused, shown

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

_READINGS = "OphthalmicAxialLengthMeasurementsSequence"
_TOTAL, _SUMMATION, _SEGMENT = "TOTAL LENGTH", "LENGTH SUMMATION", "SEGMENTAL LENGTH"
_SEQUENCE_OF = {
    _TOTAL: "OphthalmicAxialLengthMeasurementsTotalLengthSequence",
    _SUMMATION: "OphthalmicAxialLengthMeasurementsLengthSummationSequence",
    _SEGMENT: "OphthalmicAxialLengthMeasurementsSegmentalLengthSequence",
}
_CORNEA, _CHAMBER, _VITREOUS_CAVITY = "28726007", "31636006", "26386000"
_LENS, _POSTERIOR_LENS = "111778", "111779"
_KNOWN_SEGMENTS = (_CORNEA, _CHAMBER, _LENS, _POSTERIOR_LENS, _VITREOUS_CAVITY)
_SD_CODE = "111786"
_CHAMBER_FROM = {"111776": ChamberFrom.EPITHELIUM, "111777": ChamberFrom.ENDOTHELIUM}
_ULTRASOUND = {"111750": Method.CONTACT, "111751": Method.IMMERSION}
_LENS_STATUS = {"309523001": LensStatus.PSEUDOPHAKIC, "24010005": LensStatus.APHAKIC}
_CRYSTALLINE = "247049005"
_TWO_LENSES = {"397559001": "a phakic lens implant", "370951003": "two lens implants"}
_VITREOUS = {
    "372242005": Vitreous.NATURAL,
    "232077005": Vitreous.VITRECTOMISED,
    "247094004": Vitreous.GAS,
    "247095003": Vitreous.SILICONE_OIL,
}
_LENGTH_DECIMALS = 2
_CORNEA_DECIMALS = 3
_UM_PER_MM = 1000.0
_SAME_LENGTH_MM = 0.02
_SUM_DIFFERS_MM = 0.2
"""Segments and total are separate scans, and may use separate indices (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Length:
    """One length the object holds."""

    kind: str
    segment: str
    stored_mm: float
    path: str
    modified: bool = False
    signal_to_noise: float | None = None
    sd_mm: float | None = None

    def rounded_mm(self) -> float:
        """At the resolution that lengths are stated with; single precision carries no more."""
        return round(self.stored_mm, _CORNEA_DECIMALS if self.segment == _CORNEA else _LENGTH_DECIMALS)


def method_of(dataset: Dataset, file: str) -> tuple[Method | None, list[Finding]]:
    """How the lengths were measured."""
    keyword = "OphthalmicAxialMeasurementsDeviceType"
    device_type = words(dataset, keyword)
    if device_type == "OPTICAL":
        return Method.OPTICAL, []
    where = f"{file}, {tag(keyword)}"
    if device_type != "ULTRASOUND":
        sentence = "The object does not say how the lengths were measured. It may be half-written."
        raise refused("device-type-missing", sentence, where)
    method = _ULTRASOUND.get(code(dataset, "OphthalmicUltrasoundMethodCodeSequence"))
    if method is not None:
        return method, []
    sentence = "Ultrasound was used, and the object does not say whether by contact or immersion."
    return None, [warning("ultrasound-method-unknown", sentence, where, DICOM)]


def chamber_start_of(dataset: Dataset) -> ChamberFrom | None:
    """Where chamber depth starts; the object may leave it out, and then it is asked, never assumed."""
    return _CHAMBER_FROM.get(code(dataset, "AnteriorChamberDepthDefinitionCodeSequence"))


def lengths_of(
    eye: Dataset, place: Place, method: Method | None, chamber_from: ChamberFrom | None
) -> tuple[Biometry, list[Finding]]:
    """Lengths of one eye, with findings about what the object leaves open or contradicts.

    Raises
    ------
    RefusedFileError
        When a number cannot be read, or the segments are longer than the eye.
    """
    readings, selected = list(_readings(eye, place)), list(_selected(eye, place))
    total, findings = _total(readings, selected, place)
    segments = {
        name: _segment(name, readings, selected, place)
        for name in (_CORNEA, _CHAMBER, _LENS, _VITREOUS_CAVITY)
    }
    lens_status, about_lens = _lens_status(eye, place)
    vitreous, about_vitreous = _vitreous(eye, place)
    findings += [*about_lens, *about_vitreous, *_moved_cursor(readings, place)]
    findings += _not_understood(eye, readings, place)
    findings += _cross_check(total, segments, chamber_from, place)
    biometry = Biometry(
        keratometry=Keratometry(Meridian(), Meridian()),
        axial_length_mm=total,
        anterior_chamber_depth_mm=segments[_CHAMBER],
        chamber_from=chamber_from if segments[_CHAMBER] else None,
        lens_thickness_mm=segments[_LENS],
        corneal_thickness_um=_in_um(segments[_CORNEA]),
        measured_on=place.measured_on,
        device=place.device,
        method=method,
        length_convention=_convention(readings, selected),
        lens_status=lens_status,
        vitreous=vitreous,
        repeats=_repeats(readings),
    )
    return biometry, findings


def _readings(eye: Dataset, place: Place) -> Iterator[_Length]:
    for item in items(eye, _READINGS):
        kind = words(item, "OphthalmicAxialLengthMeasurementsType")
        sequence = _SEQUENCE_OF.get(kind)
        for inner in items(item, sequence) if sequence else ():
            length_mm = number(inner, "OphthalmicAxialLength", place)
            if sequence and length_mm is not None:
                yield _Length(
                    kind=kind,
                    segment=code(inner, "OphthalmicAxialLengthMeasurementsSegmentNameCodeSequence"),
                    stored_mm=length_mm,
                    path=f"{place.of(_READINGS)} > {tag(sequence)} > {tag('OphthalmicAxialLength')}",
                    modified=words(inner, "OphthalmicAxialLengthMeasurementModified") == "YES",
                    signal_to_noise=_signal_to_noise(inner, place),
                )


def _signal_to_noise(reading: Dataset, place: Place) -> float | None:
    optical = items(reading, "OpticalOphthalmicAxialLengthMeasurementsSequence")
    return number(optical[0], "SignalToNoiseRatio", place) if optical else None


def _selected(eye: Dataset, place: Place) -> Iterator[_Length]:
    """Lengths that the device, or a person at it, chose; the total first."""
    for item in items(eye, "UltrasoundSelectedOphthalmicAxialLengthSequence"):
        yield from _chosen(item, _TOTAL, "UltrasoundSelectedOphthalmicAxialLengthSequence", place)
    for item in items(eye, "OpticalSelectedOphthalmicAxialLengthSequence"):
        kind = words(item, "OphthalmicAxialLengthMeasurementsType") or _TOTAL
        for sequence in (
            "SelectedTotalOphthalmicAxialLengthSequence",
            "SelectedSegmentalOphthalmicAxialLengthSequence",
        ):
            for inner in items(item, sequence):
                yield from _chosen(inner, kind, sequence, place)


def _chosen(item: Dataset, kind: str, sequence: str, place: Place) -> Iterator[_Length]:
    length_mm = number(item, "OphthalmicAxialLength", place)
    if length_mm is not None:
        yield _Length(
            kind=kind,
            segment=code(item, "OphthalmicAxialLengthMeasurementsSegmentNameCodeSequence"),
            stored_mm=length_mm,
            path=f"{place.of(sequence)} > {tag('OphthalmicAxialLength')}",
            sd_mm=_sd_mm(item, place),
        )


def _sd_mm(item: Dataset, place: Place) -> float | None:
    for metric in items(item, "OphthalmicAxialLengthQualityMetricSequence"):
        if code(metric, "ConceptNameCodeSequence") == _SD_CODE:
            scale = {"mm": 1.0, "um": 1.0 / _UM_PER_MM}.get(code(metric, "MeasurementUnitsCodeSequence"))
            value = number(metric, "NumericValue", place)
            if scale is not None and value is not None and value >= 0.0:
                return value * scale
    return None


def _total(
    readings: Sequence[_Length], selected: Sequence[_Length], place: Place
) -> tuple[Measured | None, list[Finding]]:
    of_kind = [one for one in readings if one.kind == _TOTAL] or [
        one for one in readings if one.kind == _SUMMATION
    ]
    chosen = next((one for one in selected if not one.segment), None)
    total = _measured([chosen] if chosen else of_kind, of_kind, place)
    if total is None:
        return None, []
    where = place.of("OphthalmicAxialLength")
    if chosen is None and len(of_kind) > 1:
        sentence = f"The device chose none of its {len(of_kind)} readings; their mean is taken."
        return total, [note("mean-of-readings", sentence, where, DICOM)]
    values = [one.stored_mm for one in of_kind] or [total.value]
    if not min(values) - _SAME_LENGTH_MM <= total.value <= max(values) + _SAME_LENGTH_MM:
        sentence = (
            f"The length chosen, {total.value:g} mm, lies outside the single readings ({min(values):.2f} to "
            f"{max(values):.2f} mm). Compare it with the printout."
        )
        return total, [warning("chosen-length-outside-readings", sentence, where, DICOM)]
    return total, []


def _segment(
    name: str, readings: Sequence[_Length], selected: Sequence[_Length], place: Place
) -> Measured | None:
    of_name = [one for one in readings if one.kind == _SEGMENT and one.segment == name]
    chosen = [one for one in selected if one.segment == name]
    return _measured(chosen[:1] or of_name, of_name, place)


def _measured(values: Sequence[_Length], readings: Sequence[_Length], place: Place) -> Measured | None:
    """The value, or the mean of several, with the spread of the readings behind it."""
    if not values:
        return None
    first = values[0]
    mean_mm = statistics.fmean(one.stored_mm for one in values)
    stored = ", ".join(repr(one.stored_mm) for one in values)
    heard = [f"{one.signal_to_noise:g}" for one in readings if one.signal_to_noise is not None]
    return Measured(
        value=_Length(first.kind, first.segment, mean_mm, "").rounded_mm(),
        sd=first.sd_mm if first.sd_mm is not None else _sample_sd_mm(readings),
        n=max(1, len(readings)),
        device=place.device,
        on=place.measured_on,
        source=f"{first.path}, as stored {stored}"
        + (f"; signal to noise {', '.join(heard)}" if heard else ""),
    )


def _sample_sd_mm(readings: Sequence[_Length]) -> float | None:
    return statistics.stdev(one.rounded_mm() for one in readings) if len(readings) > 1 else None


def _in_um(thickness_mm: Measured | None) -> Measured | None:
    if thickness_mm is None:
        return None
    return Measured(
        value=round(thickness_mm.value * _UM_PER_MM, 3),
        sd=None if thickness_mm.sd is None else thickness_mm.sd * _UM_PER_MM,
        n=thickness_mm.n,
        device=thickness_mm.device,
        on=thickness_mm.on,
        source=thickness_mm.source,
    )


def _repeats(readings: Sequence[_Length]) -> dict[str, tuple[float, ...]] | None:
    totals = tuple(one.rounded_mm() for one in readings if one.kind == _TOTAL)
    return {"axial_length_mm": totals} if len(totals) > 1 else None


def _convention(readings: Sequence[_Length], selected: Sequence[_Length]) -> LengthConvention | None:
    """A summed length is segmental; of a total length the object does not tell, so it is left open."""
    chosen = next((one.kind for one in selected if not one.segment), None)
    kinds = {chosen} if chosen else {one.kind for one in readings if one.kind != _SEGMENT}
    return LengthConvention.SEGMENTAL if kinds == {_SUMMATION} else None


def _lens_status(eye: Dataset, place: Place) -> tuple[LensStatus | None, list[Finding]]:
    value = code(eye, "LensStatusCodeSequence")
    where = place.of("LensStatusCodeSequence")
    if value in _LENS_STATUS:
        return _LENS_STATUS[value], []
    if value == _CRYSTALLINE:
        sentence = "The eye has its own lens; the object does not say whether it is clouded. Add lens_status."
        return None, [note("lens-status-open", sentence, where, DICOM)]
    said = _TWO_LENSES.get(value, f"a lens status of code {shown(value)}" if value else "no lens status")
    sentence = (
        f"The object states {said}, which changes how the length is read. Check it and add lens_status."
    )
    return None, [warning("lens-status-open", sentence, where, DICOM)]


def _vitreous(eye: Dataset, place: Place) -> tuple[Vitreous | None, list[Finding]]:
    value = code(eye, "VitreousStatusCodeSequence")
    if value in _VITREOUS:
        return _VITREOUS[value], []
    said = f"code {shown(value)}, which is not known here" if value else "nothing about it"
    sentence = f"What fills the eye is open: the object says {said}. Add vitreous."
    return None, [warning("vitreous-open", sentence, place.of("VitreousStatusCodeSequence"), DICOM)]


def _moved_cursor(readings: Sequence[_Length], place: Place) -> Iterator[Finding]:
    moved = sum(one.modified for one in readings)
    if moved:
        sentence = f"A person moved the cursor of {moved} of {len(readings)} readings."
        where = place.of("OphthalmicAxialLengthMeasurementModified")
        yield note("cursor-moved", sentence, where, DICOM)


def _not_understood(eye: Dataset, readings: Sequence[_Length], place: Place) -> Iterator[Finding]:
    """Readings of a kind or a part of the eye that is not known here; a damaged file may hold some."""
    known = [one for one in readings if one.kind != _SEGMENT or one.segment in _KNOWN_SEGMENTS]
    held = len(items(eye, _READINGS))
    if held == 0:
        sentence = "The single readings are left out, which the standard does not allow. Check the printout."
        yield warning("element-left-out", sentence, place.of(_READINGS), DICOM)
    elif held > len(known):
        sentence = (
            f"{held - len(known)} of {held} readings are of a kind or a part of the eye not known here."
        )
        yield warning("reading-not-understood", sentence, place.of(_READINGS), DICOM)


def _cross_check(
    total: Measured | None,
    segments: dict[str, Measured | None],
    chamber_from: ChamberFrom | None,
    place: Place,
) -> list[Finding]:
    """Do the segments add up? A damaged file can read well with other numbers."""
    lengths = {name: one.value for name, one in segments.items() if one is not None}
    if total is None or not lengths:
        return []
    front_mm = sum(lengths.get(name, 0.0) for name in (_CHAMBER, _LENS))
    if front_mm >= total.value:
        sentence = f"Chamber and lens ({front_mm:.2f} mm) are longer than the eye ({total.value:.2f} mm)."
        raise refused("segments-longer-than-eye", sentence, place.of("OphthalmicAxialLength"))
    if not {_CHAMBER, _LENS, _VITREOUS_CAVITY} <= set(lengths):
        return []
    from_epithelium_mm = front_mm + lengths[_VITREOUS_CAVITY]
    sums_mm = {
        ChamberFrom.EPITHELIUM: from_epithelium_mm,
        ChamberFrom.ENDOTHELIUM: from_epithelium_mm + lengths.get(_CORNEA, 0.0),
    }
    possible = [sums_mm[chamber_from]] if chamber_from else list(sums_mm.values())
    nearest_mm = min(possible, key=lambda sum_mm: abs(sum_mm - total.value))
    if abs(nearest_mm - total.value) <= _SUM_DIFFERS_MM:
        return []
    sentence = (
        f"The segments add up to {nearest_mm:.2f} mm, and the eye is {total.value:.2f} mm long. Compare both "
        "with the printout."
    )
    return [warning("segments-do-not-add-up", sentence, place.of("OphthalmicAxialLength"), DICOM)]

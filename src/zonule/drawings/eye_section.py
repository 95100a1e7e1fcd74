"""The eye from the side, to scale in millimetres: what was measured along the axis, and what was not."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, pi, sin, sqrt

from zonule.case.biometry import Biometry, LensStatus
from zonule.case.case import Case
from zonule.case.measured import Measured
from zonule.drawings.ink import PAPER
from zonule.drawings.labels import text_width
from zonule.drawings.numbers import measured_text, mm_text
from zonule.drawings.seen_eye import NOMINAL_LIMBUS_MM
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, polygon, polyline, text
from zonule.science.units import um_to_mm

_NOMINAL_RADIUS_MM = 7.8
_NOMINAL_CORNEA_MM = 0.54
_NOMINAL_CHAMBER_MM = 3.1
_NOMINAL_LENS_MM = 4.5
_NOMINAL_LENGTH_MM = 23.5
_LENS_HALF_HEIGHT_MM = 4.6
"""Lengths drawn, dotted, in place of what was not measured: an average adult eye, and the height of a lens,
which no biometer gives (common practice, no source)."""

_LEFT_MM, _RIGHT_MM = -2.0, 2.0
_SMALL, _TITLE = 0.95, 1.4
_FIRST_ROW_MM, _ROW_MM = 1.3, 1.45
_SOLID, _DOTTED = Stroke(PAPER.ink, 0.13), Stroke(PAPER.ink, 0.15, (0.02, 0.36), "round")
_POINTS = 41


@dataclass(frozen=True, slots=True)
class _Along:
    """One length along the axis."""

    name: str
    mm: float
    said: str
    is_measured: bool

    @property
    def stroke(self) -> Stroke:
        return _SOLID if self.is_measured else _DOTTED

    @property
    def sentence(self) -> str:
        return f"{self.name} {self.said}"


@dataclass(frozen=True, slots=True)
class _Section:
    """An eye from the side; the vertex of the cornea lies at zero."""

    radius_mm: float
    radius_said: str
    is_curved_as_measured: bool
    half_limbus_mm: float
    cornea: _Along
    chamber: _Along
    lens: _Along | None
    length: _Along
    without_lens: str

    @property
    def lengths(self) -> list[_Along]:
        """Everything measured along the axis, from the front."""
        return [one for one in (self.cornea, self.chamber, self.lens, self.length) if one is not None]

    @property
    def limbus_depth_mm(self) -> float:
        """How far behind the vertex the limbus lies: the sagitta of the cornea."""
        half = min(self.half_limbus_mm, 0.95 * self.radius_mm)
        return self.radius_mm - sqrt(self.radius_mm**2 - half**2)

    @property
    def globe_mm(self) -> float:
        """Radius of the circle through both edges of the limbus and the retina on the axis."""
        depth = self.length.mm - self.limbus_depth_mm
        return (depth**2 + self.half_limbus_mm**2) / (2 * depth)


def eye_section(case: Case) -> Drawing:
    """An eye from the side, in true proportion, from its own numbers.

    Only lengths along the axis and the front curve of the cornea are measured; the outlines between them are
    drawn thin. What was not measured is dotted and says so. After the operation it is still the eye that was
    measured, and its title says so: nothing has been measured of the new lens.
    """
    section = _section(case.eye.biometry)
    shown, said_before = (
        f"{case.side.capitalize()} eye from the side",
        "as it was before" if case.operation else "",
    )
    top = -section.globe_mm - (4.2 if said_before else 2.9)
    bottom = section.globe_mm + _FIRST_ROW_MM + _ROW_MM * len(section.lengths) + 2.4
    content = [
        *_dimensions(section),
        *_globe(section),
        *_cornea(section),
        *_lens(section),
        text((_LEFT_MM, top + 1.3), shown, size=_TITLE, fill=PAPER.ink, bold=True),
        *([text((_LEFT_MM, top + 2.6), said_before, size=_TITLE, fill=PAPER.ink)] if said_before else []),
        *_notes(bottom - 0.5),
    ]
    said = [one.sentence for one in section.lengths] + [section.radius_said]
    if section.without_lens:
        said.append(section.without_lens)
    box = (_LEFT_MM, top, section.length.mm + _RIGHT_MM - _LEFT_MM, bottom - top)
    title = f"{shown}, {said_before}" if said_before else shown
    return picture("eye-section", box, content, title=title, description=f"{'; '.join(said)}.")


def _section(biometry: Biometry) -> _Section:
    radii, white = biometry.keratometry.radii_mm, biometry.white_to_white_mm
    radius = _NOMINAL_RADIUS_MM if radii is None else sum(radii) / 2
    radius_said = "corneal radius not measured" if radii is None else f"corneal radius {mm_text(radius)}"
    lens, without = _natural_lens(biometry)
    return _Section(
        radius_mm=radius,
        radius_said=radius_said,
        is_curved_as_measured=radii is not None,
        half_limbus_mm=(NOMINAL_LIMBUS_MM if white is None else white.value) / 2,
        cornea=_corneal_thickness(biometry),
        chamber=_chamber(biometry),
        lens=lens,
        length=_along("axial length", biometry.axial_length_mm, _NOMINAL_LENGTH_MM),
        without_lens=without,
    )


def _along(name: str, measured: Measured | None, nominal_mm: float) -> _Along:
    if measured is None:
        return _Along(name, nominal_mm, "not measured", is_measured=False)
    return _Along(name, measured.value, measured_text(measured, 2, "mm"), is_measured=True)


def _corneal_thickness(biometry: Biometry) -> _Along:
    measured = biometry.corneal_thickness_um
    if measured is None:
        return _Along("cornea", _NOMINAL_CORNEA_MM, "not measured", is_measured=False)
    return _Along("cornea", um_to_mm(measured.value), measured_text(measured, 0, "\u00b5m"), is_measured=True)


def _chamber(biometry: Biometry) -> _Along:
    depth_mm, measured = biometry.chamber_from_epithelium_mm, biometry.anterior_chamber_depth_mm
    if measured is None:
        return _Along("chamber", _NOMINAL_CHAMBER_MM, "not measured", is_measured=False)
    if depth_mm is None:
        said = f"{measured_text(measured, 2, 'mm')}, start not known"
        return _Along("chamber", measured.value, said, is_measured=False)
    from_epithelium = Measured(depth_mm, measured.sd)
    return _Along("chamber", depth_mm, measured_text(from_epithelium, 2, "mm"), is_measured=True)


def _natural_lens(biometry: Biometry) -> tuple[_Along | None, str]:
    """The lens the eye was born with, or what stands in its place."""
    if biometry.lens_status is LensStatus.APHAKIC:
        return None, "no lens in the eye"
    if biometry.lens_status is LensStatus.PSEUDOPHAKIC:
        return None, "an artificial lens in the eye, position not measured"
    return _along("lens", biometry.lens_thickness_mm, _NOMINAL_LENS_MM), ""


def _arc(centre_mm: float, radius_mm: float, half_angle: float, *, front: bool) -> list[tuple[float, float]]:
    """Points of an arc about the axis, from above to below."""
    way = -1.0 if front else 1.0
    angles = [half_angle * (2 * index / (_POINTS - 1) - 1) for index in range(_POINTS)]
    return [(centre_mm + way * radius_mm * cos(angle), radius_mm * sin(angle)) for angle in angles]


def _globe(section: _Section) -> list[Element]:
    """The outline as a circle, thin because nobody measured it; the retina on the axis as measured."""
    radius = section.globe_mm
    centre = section.length.mm - radius
    opening = asin(min(1.0, section.half_limbus_mm / radius))
    whole = _arc(centre, radius, pi - opening, front=False)
    return [
        polyline(whole, Stroke(PAPER.muted, 0.07), class_="globe"),
        polyline(
            _arc(centre, radius, 0.32, front=False), _wide(section.length.stroke, 0.24), class_="retina"
        ),
    ]


def _wide(stroke: Stroke, width: float) -> Stroke:
    return Stroke(stroke.colour, width, stroke.dashes, stroke.cap)


def _cornea(section: _Section) -> list[Element]:
    half = asin(min(0.95, section.half_limbus_mm / section.radius_mm))
    front = _arc(section.radius_mm, section.radius_mm, half, front=True)
    inner = section.radius_mm - section.cornea.mm
    back = _arc(section.radius_mm, inner, half, front=True)
    return [
        polygon([*front, *back[::-1]], fill=PAPER.accent_wash),
        polyline(front, _wide(_SOLID if section.is_curved_as_measured else _DOTTED, 0.17), class_="cornea"),
        polyline(back, section.cornea.stroke),
    ]


def _lens(section: _Section) -> list[Element]:
    if section.lens is None:
        return []
    front, thick = section.chamber.mm, section.lens.mm
    outline = [
        *_bulge(front, 0.42 * thick, -1.0),
        *_bulge(front + thick, 0.58 * thick, 1.0)[::-1],
    ]
    is_measured = section.chamber.is_measured and section.lens.is_measured
    stroke = _SOLID if is_measured else _DOTTED
    return [polygon(outline, fill=PAPER.iris, stroke=stroke, class_="lens")]


def _bulge(pole_mm: float, depth_mm: float, way: float) -> list[tuple[float, float]]:
    """Half an ellipse from the upper to the lower edge of the lens, with its pole on the axis."""
    angles = [pi * (index / (_POINTS - 1) - 0.5) for index in range(_POINTS)]
    return [
        (pole_mm - way * depth_mm * (1 - cos(angle)), _LENS_HALF_HEIGHT_MM * sin(angle)) for angle in angles
    ]


def _dimensions(section: _Section) -> list[Element]:
    """Below the eye, each length under the part that it measures."""
    parts: list[Element] = []
    starts = {section.lens: section.chamber.mm}
    for index, one in enumerate(section.lengths):
        row = section.globe_mm + _FIRST_ROW_MM + _ROW_MM * index
        start = starts.get(one, 0.0)
        parts += _dimension(one, start, start + one.mm, row)
    return parts


def _dimension(one: _Along, start: float, end: float, row: float) -> list[Element]:
    stroke = Stroke(PAPER.ink, 0.1) if one.is_measured else _DOTTED
    help_lines = [line((x, 0), (x, row + 0.35), Stroke(PAPER.grid, 0.07)) for x in (start, end)]
    ends = [line((x, row - 0.3), (x, row + 0.3), Stroke(PAPER.ink, 0.1)) for x in (start, end)]
    is_long = end - start > text_width(one.sentence, _SMALL)
    at = ((start + end) / 2, row + 1.1) if is_long else (end + 0.5, row + 0.32)
    said = text(at, one.sentence, size=_SMALL, fill=PAPER.ink, anchor="middle" if is_long else "start")
    return [*help_lines, line((start, row), (end, row), stroke), *ends, said]


def _notes(row: float) -> list[Element]:
    said = "Solid: measured. Dotted: not. Thin outline: drawn only."
    return [text((_LEFT_MM, row), said, size=_SMALL, fill=PAPER.muted)]

"""Draw the pictures of docs/methods from the formulas themselves.

Usage::

    python tools/draw_methods.py

A test fails when a picture and the code differ.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from zonule.drawings.ink import PAPER
from zonule.drawings.svg import Element, Stroke, line, picture, polyline, rectangle, text
from zonule.science.lens_power.corrected_cornea import (
    CorrectedCornea,
    haigis_l_cornea,
    shammas_hyperopic,
    shammas_without_history,
)
from zonule.science.lens_power.double_k import ASSUMED_BEFORE_DPT, hoffer_q, holladay_1, srk_t
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, formulas_for, seen_eye
from zonule.science.lens_power.length_convention import segmental_length
from zonule.science.lens_power.long_eyes import ADJUSTMENTS
from zonule.science.lens_power.masket import masket_shift_dpt, modified_masket_shift_dpt
from zonule.science.lens_power.thin_lens import lens_power_dpt
from zonule.science.optics.vergence import refraction_at_cornea_dpt

FOLDER = Path(__file__).parent.parent / "docs" / "pictures" / "methods"
A_CONSTANT = 118.4
WIDTH, HEIGHT = 480.0, 290.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 14.0, 14.0, 44.0
POINTS = 57
STROKES = (
    Stroke(PAPER.ink, 1.8),
    Stroke(PAPER.accent, 1.8, (7.0, 3.0)),
    Stroke(PAPER.amber, 1.8, (2.0, 2.5)),
    Stroke(PAPER.muted, 1.8, (9.0, 3.0, 2.0, 3.0)),
    Stroke(PAPER.accent, 1.8),
    Stroke(PAPER.amber, 1.8, (7.0, 3.0)),
)

Numbers = NDArray[np.float64]


class Scale(NamedTuple):
    """One axis: its words, its ends and its marks."""

    words: str
    low: float
    high: float
    step: float

    def marks(self) -> list[float]:
        """Where its marks stand."""
        return [
            round(float(mark), 6) + 0.0
            for mark in np.arange(self.low, self.high + self.step / 2.0, self.step)
        ]


class Curve(NamedTuple):
    """A line of the chart, as long as it has numbers."""

    name: str
    across: Numbers
    up: Numbers


class Chart(NamedTuple):
    """A chart: what it says in one sentence, its axes and its curves."""

    title: str
    says: str
    across: Scale
    up: Scale
    curves: Sequence[Curve]
    legend_at: tuple[float, float]
    """Share of the width and of the height at which the list of curves begins."""


def drawn(chart: Chart) -> str:
    """The chart as SVG."""
    paper = rectangle((0.0, 0.0), (WIDTH, HEIGHT), fill=PAPER.paper)
    content = [paper, *_frame(chart), *_curves(chart), *_legend(chart)]
    drawing = picture("method", (0.0, 0.0, WIDTH, HEIGHT), content, title=chart.title, description=chart.says)
    return drawing.svg + "\n"


def _place(chart: Chart, x: float, y: float) -> tuple[float, float]:
    across, up = chart.across, chart.up
    share_x = (x - across.low) / (across.high - across.low)
    share_y = (y - up.low) / (up.high - up.low)
    return (
        round(LEFT + share_x * (WIDTH - LEFT - RIGHT), 1),
        round(HEIGHT - BOTTOM - share_y * (HEIGHT - TOP - BOTTOM), 1),
    )


def _frame(chart: Chart) -> list[Element]:
    thin = Stroke(PAPER.grid, 1.0)
    found: list[Element] = []
    for x in chart.across.marks():
        foot = _place(chart, x, chart.up.low)
        found += [line(foot, (foot[0], TOP), thin)]
        found += [text((foot[0], foot[1] + 15.0), f"{x:g}", size=11.0, fill=PAPER.muted, anchor="middle")]
    for y in chart.up.marks():
        side = _place(chart, chart.across.low, y)
        found += [line(side, (WIDTH - RIGHT, side[1]), thin)]
        found += [text((side[0] - 6.0, side[1] + 4.0), f"{y:g}", size=11.0, fill=PAPER.muted, anchor="end")]
    middle = (LEFT + (WIDTH - LEFT - RIGHT) / 2.0, HEIGHT - 10.0)
    found.append(text(middle, chart.across.words, size=12.0, fill=PAPER.ink, anchor="middle"))
    return found


def _curves(chart: Chart) -> list[Element]:
    found = []
    for curve, stroke in zip(chart.curves, STROKES, strict=False):
        inside = (curve.up >= chart.up.low) & (curve.up <= chart.up.high)
        points = zip(curve.across[inside], curve.up[inside], strict=True)
        found.append(polyline([_place(chart, float(x), float(y)) for x, y in points], stroke))
    return found


def _legend(chart: Chart) -> list[Element]:
    x = LEFT + chart.legend_at[0] * (WIDTH - LEFT - RIGHT)
    y = TOP + chart.legend_at[1] * (HEIGHT - TOP - BOTTOM)
    found = [text((x, y), chart.up.words, size=12.0, fill=PAPER.ink, bold=True)]
    for row, (curve, stroke) in enumerate(zip(chart.curves, STROKES, strict=False), start=1):
        at = y + 16.0 * row
        found.append(line((x, at - 4.0), (x + 26.0, at - 4.0), stroke))
        found.append(text((x + 32.0, at), curve.name, size=12.0, fill=PAPER.ink))
    return found


def plano_dpt(key: str, eye: EyeNumbers, cornea: str = "none") -> Numbers:
    """Lens power for plano with constants from A 118.4."""
    row = formulas_for(cornea)[key]
    seen = seen_eye(row, eye, row.first_guess(A_CONSTANT))
    return np.asarray(row.optics.lens_power_dpt(seen, 0.0), dtype=np.float64)


def position_mm(key: str, eye: EyeNumbers) -> Numbers:
    """Where a formula puts the lens."""
    row = FORMULAS[key]
    return np.asarray(seen_eye(row, eye, row.first_guess(A_CONSTANT)).lens_position_mm, dtype=np.float64)


def spread_over(low: float, high: float) -> Numbers:
    """Points of a curve."""
    return np.linspace(low, high, POINTS)


def _srk_t_chart() -> Chart:
    k = spread_over(38.0, 54.0)
    eye = EyeNumbers(23.5, k, 3.1)
    curves = [Curve("SRK/T", k, position_mm("srk_t", eye)), Curve("T2", k, position_mm("t2", eye))]
    return Chart(
        "Lens position by SRK/T",
        "In an eye of 23.5 mm SRK/T moves the lens back ever faster as the cornea gets steeper, up to its "
        "edge near 51 D; T2 moves it evenly.",
        Scale("mean K, D (axial length 23.5 mm)", 38.0, 54.0, 2.0),
        Scale("lens position, mm", 3.0, 9.0, 1.0),
        curves,
        (0.06, 0.08),
    )


def _t2_chart() -> Chart:
    length = spread_over(20.0, 32.0)
    curves = []
    for k in (46.0, 43.5, 41.0):
        eye = EyeNumbers(length, np.full(POINTS, k), 3.1)
        curves.append(Curve(f"K {k:g} D", length, plano_dpt("t2", eye) - plano_dpt("srk_t", eye)))
    return Chart(
        "Lens power by T2 beside SRK/T",
        "What T2 gives more than SRK/T for plano, by axial length and for three corneas.",
        Scale("axial length, mm", 20.0, 32.0, 2.0),
        Scale("T2 less SRK/T, D", -1.5, 1.5, 0.5),
        curves,
        (0.04, 0.06),
    )


def _holladay_1_chart() -> Chart:
    length = spread_over(20.0, 32.0)
    eye = EyeNumbers(length, 43.5, 3.1)
    names = (("holladay_1", "Holladay 1"), ("srk_t", "SRK/T"))
    return Chart(
        "Lens position by Holladay 1",
        "Holladay 1 puts the lens of every eye longer than 25.3 mm at one depth; SRK/T moves it on.",
        Scale("axial length, mm (K 43.5 D)", 20.0, 32.0, 2.0),
        Scale("lens position, mm", 4.0, 8.0, 1.0),
        [Curve(name, length, position_mm(key, eye)) for key, name in names],
        (0.06, 0.08),
    )


def _hoffer_q_chart() -> Chart:
    length = spread_over(20.0, 32.0)
    eye = EyeNumbers(length, 43.5, 3.1)
    curves = [
        Curve(name, length, plano_dpt(key, eye) - plano_dpt("srk_t", eye))
        for key, name in (("hoffer_q", "Hoffer Q"), ("holladay_1", "Holladay 1"))
    ]
    return Chart(
        "Lens power by Hoffer Q beside SRK/T",
        "What Hoffer Q and Holladay 1 give more than SRK/T for plano, by axial length.",
        Scale("axial length, mm (K 43.5 D)", 20.0, 32.0, 2.0),
        Scale("less SRK/T, D", -1.0, 1.0, 0.5),
        curves,
        (0.45, 0.08),
    )


def _haigis_chart() -> Chart:
    length = spread_over(20.0, 32.0)
    curves = []
    for depth in (3.6, 3.1, 2.6):
        eye = EyeNumbers(length, 43.5, depth)
        curves.append(
            Curve(f"chamber {depth:g} mm", length, plano_dpt("haigis", eye) - plano_dpt("srk_t", eye))
        )
    return Chart(
        "Lens power by Haigis beside SRK/T",
        "What Haigis with constants converted from one A-constant gives more than SRK/T for plano, for "
        "three chamber depths.",
        Scale("axial length, mm (K 43.5 D)", 20.0, 32.0, 2.0),
        Scale("Haigis less SRK/T, D", -1.0, 4.0, 1.0),
        curves,
        (0.5, 0.08),
    )


def _long_eyes_chart() -> Chart:
    curves = []
    for key, adjustment in ADJUSTMENTS.items():
        length = spread_over(adjustment.lengths_from_mm, 32.0)
        eye = EyeNumbers(length, 43.0, 3.5)
        plain = plano_dpt(key.partition("_long_eye")[0], eye)
        name = FORMULAS[key].name.replace(", long eye", "")
        curves.append(Curve(name, length, plano_dpt(key, eye) - plain))
    return Chart(
        "What adjusting the length adds",
        "Lens power for plano that each published adjustment adds to its plain formula; each begins with a "
        "step at its own length.",
        Scale("axial length, mm (K 43 D)", 24.0, 32.0, 1.0),
        Scale("added lens power, D", -0.5, 3.5, 0.5),
        curves,
        (0.04, 0.07),
    )


def _double_k_chart() -> Chart:
    k = spread_over(34.0, 43.5)
    curves = []
    kernels: tuple[tuple[str, str, Callable[..., object]], ...] = (
        ("srk_t", "SRK/T", srk_t),
        ("holladay_1", "Holladay 1", holladay_1),
        ("hoffer_q", "Hoffer Q", hoffer_q),
    )
    for key, name, kernel in kernels:
        (constant,) = FORMULAS[key].first_guess(A_CONSTANT)
        seen = kernel(24.5, CorrectedCornea(k), ASSUMED_BEFORE_DPT, constant)
        more = np.asarray(lens_power_dpt(seen, 0.0)) - plano_dpt(key, EyeNumbers(24.5, k, 3.1))  # type: ignore[arg-type]
        curves.append(Curve(name, k, more))
    return Chart(
        "What double-K adds",
        "Lens power for plano that double-K adds to the plain formula in an eye of 24.5 mm whose cornea had "
        "43.5 D before surgery.",
        Scale("corneal power today, D (24.5 mm; 43.5 D before)", 34.0, 44.0, 2.0),
        Scale("added lens power, D", 0.0, 4.0, 1.0),
        curves,
        (0.55, 0.08),
    )


def _shammas_chart() -> Chart:
    length = spread_over(22.0, 30.0)
    eye = EyeNumbers(length, 38.0, 3.4)
    names = (
        ("shammas_pl", "Shammas-PL"),
        ("srk_t_double_k", "SRK/T, double-K"),
        ("hoffer_q_double_k", "Hoffer Q, double-K"),
    )
    return Chart(
        "Lens power by Shammas-PL",
        "Lens power for plano after myopic laser with a reading of 38 D, beside double-K with 43.5 D before.",
        Scale("axial length, mm (reading 38 D)", 22.0, 30.0, 1.0),
        Scale("lens for plano, D", 10.0, 36.0, 5.0),
        [Curve(name, length, plano_dpt(key, eye, "myopic_laser")) for key, name in names],
        (0.5, 0.08),
    )


def _haigis_after_laser_chart() -> Chart:
    k = spread_over(34.0, 43.0)
    eye = EyeNumbers(26.0, k, 3.4)
    names = (
        ("haigis_l_myopic", "Haigis-L"),
        ("haigis_shammas_k", "Haigis with Shammas K"),
        ("shammas_pl", "Shammas-PL"),
    )
    return Chart(
        "Lens power by Haigis after myopic laser",
        "Lens power for plano in an eye of 26 mm, by the reading; Haigis constants converted from A 118.4 "
        "run about 1 D high.",
        Scale("reading today, D (26 mm)", 34.0, 43.0, 1.0),
        Scale("lens for plano, D", 14.0, 32.0, 2.0),
        [Curve(name, k, plano_dpt(key, eye, "myopic_laser")) for key, name in names],
        (0.45, 0.08),
    )


def _masket_chart() -> Chart:
    change = spread_over(-10.0, 4.0)
    at_cornea = refraction_at_cornea_dpt(change)
    curves = [
        Curve("Masket", change, np.asarray(masket_shift_dpt(at_cornea))),
        Curve("modified Masket", change, np.asarray(modified_masket_shift_dpt(at_cornea))),
    ]
    return Chart(
        "What Masket adds",
        "Lens power added for a change of refraction by laser, told at the glasses.",
        Scale("refractive change by laser, D (minus: short sight treated)", -10.0, 4.0, 2.0),
        Scale("added lens power, D", -2.0, 5.0, 1.0),
        curves,
        (0.55, 0.08),
    )


def _corrected_chart() -> Chart:
    k = spread_over(34.0, 50.0)
    ways = (
        ("Shammas, myopic", shammas_without_history),
        ("Haigis-L, myopic", haigis_l_cornea),
        ("Shammas, hyperopic", shammas_hyperopic),
    )
    return Chart(
        "What a correction without history does to the reading",
        "After myopic laser the reading is lowered, most in flat corneas. The hyperopic correction changes "
        "sign at 42.75 D.",
        Scale("reading today, D", 34.0, 50.0, 2.0),
        Scale("corrected less read, D", -2.5, 1.5, 0.5),
        [Curve(name, k, np.asarray(way(k).power_dpt) - k) for name, way in ways],
        (0.05, 0.08),
    )


def _length_chart() -> Chart:
    length = spread_over(19.0, 32.0)
    curves = [
        Curve(f"lens {lens:g} mm", length, np.asarray(segmental_length(length, lens).length_mm) - length)
        for lens in (4.0, 4.5, 5.0)
    ]
    return Chart(
        "Sum of segments beside composite length",
        "Short eyes read longer by a sum of segments, long eyes shorter; both agree near 23.8 mm.",
        Scale("composite axial length, mm", 19.0, 32.0, 1.0),
        Scale("sum less composite, mm", -0.4, 0.3, 0.1),
        curves,
        (0.55, 0.08),
    )


CHARTS: dict[str, Callable[[], Chart]] = {
    "srk-t": _srk_t_chart,
    "t2": _t2_chart,
    "holladay-1": _holladay_1_chart,
    "hoffer-q": _hoffer_q_chart,
    "haigis": _haigis_chart,
    "long-eyes": _long_eyes_chart,
    "double-k": _double_k_chart,
    "shammas": _shammas_chart,
    "haigis-after-laser": _haigis_after_laser_chart,
    "masket": _masket_chart,
    "corrected-corneas": _corrected_chart,
    "length-conventions": _length_chart,
}
"""By the name of the page."""


def main() -> None:
    """Write every picture."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, chart in CHARTS.items():
        (FOLDER / f"{name}.svg").write_text(drawn(chart()), encoding="utf-8")


if __name__ == "__main__":
    main()

"""What tests of drawings share: plans made by hand, and a way to read a drawing back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any
from xml.etree import ElementTree as ET

from fakes.examples import ordinary_request
from zonule.case.plan import FearedSide, MethodResult, Odds, Plan, Prediction, Spread
from zonule.drawings.svg import Drawing
from zonule.science.uncertainty.spread import ErrorLaw, fraction_below, fraction_within

SVG = "{http://www.w3.org/2000/svg}"
POWERS_DPT = tuple(16.0 + 0.5 * step for step in range(21))
BEST_DPT = 21.0
DPT_PER_POWER = -0.7
MEASUREMENT_SD_DPT = 0.2
RESIDUAL_FREEDOM = 3.1


def prediction(
    power_dpt: float, *, aim_dpt: float = -0.25, sd_dpt: float = 0.6, shift_dpt: float = 0.0
) -> Prediction:
    """A prediction whose chances follow the law of spread."""
    centre = aim_dpt + DPT_PER_POWER * (power_dpt - BEST_DPT) + shift_dpt
    law = ErrorLaw(sd_dpt**2 - MEASUREMENT_SD_DPT**2, RESIDUAL_FREEDOM, MEASUREMENT_SD_DPT**2)
    within = [float(fraction_within(limit, aim_dpt, centre, law)) for limit in (0.25, 0.5, 0.75, 1.0)]
    beyond = 1 - float(fraction_below(aim_dpt + 0.5, centre, law))
    spread = Spread(
        sd_dpt, within[0], within[1], within[2], within[3], beyond, MEASUREMENT_SD_DPT, RESIDUAL_FREEDOM
    )
    return Prediction(power_dpt, centre, spread)


def method(key: str = "srk_t", *, shift_dpt: float = 0.0, counts: bool = True) -> MethodResult:
    """One formula's word on every power."""
    return MethodResult(
        method=key,
        constants=(118.4,),
        first_guess=not counts,
        counts=counts,
        fit=counts,
        offset_dpt=0.0,
        power_for_target_dpt=BEST_DPT,
        predictions=tuple(prediction(power, shift_dpt=shift_dpt) for power in POWERS_DPT),
    )


def plan(
    *, powers_dpt: tuple[float, ...] = POWERS_DPT, feared: FearedSide = FearedSide.HYPEROPIC, **changes: Any
) -> Plan:
    """A plan of three methods with odds."""
    odds = Odds(
        methods=("srk_t", "holladay_1"),
        predictions=tuple(prediction(power) for power in powers_dpt),
        best_power_dpt=BEST_DPT,
        draws=4096,
        standard_error=0.001,
        measurement_sd_dpt=MEASUREMENT_SD_DPT,
    )
    made = Plan(
        request=replace(ordinary_request(), target_refraction_dpt=-0.25, feared_side=feared),
        methods=(
            method(),
            method("holladay_1", shift_dpt=0.1),
            method("haigis", shift_dpt=0.7, counts=False),
        ),
        refused=(),
        findings=(),
        seed=1,
        asked=1,
        software_version="0.1.0",
        computed_on=date(2026, 11, 2),
        odds=odds,
    )
    return replace(made, **changes)


def root(drawing: Drawing) -> ET.Element:
    """The drawing, read back."""
    return ET.fromstring(drawing.svg)  # noqa: S314 - our own drawing


def parts(drawing: Drawing, class_: str) -> list[ET.Element]:
    """Its elements of a class."""
    return [one for one in root(drawing).iter() if one.get("class") == class_]


def part(drawing: Drawing, class_: str) -> ET.Element:
    """Its one element of a class."""
    (only,) = parts(drawing, class_)
    return only


def number(element: ET.Element, name: str) -> float:
    """An attribute that is a number."""
    value = element.get(name)
    assert value is not None, name
    return float(value)


def texts(drawing: Drawing) -> list[ET.Element]:
    """Its lines of text."""
    return list(root(drawing).iter(f"{SVG}text"))


def said(drawing: Drawing) -> str:
    """Everything written in it."""
    return "\n".join(one.text or "" for one in texts(drawing))


def text_of(drawing: Drawing, content: str) -> ET.Element:
    """The one line of text with this content."""
    (only,) = (one for one in texts(drawing) if one.text == content)
    return only


def points(element: ET.Element) -> list[tuple[float, float]]:
    """The corners of a polygon."""
    pairs = (pair.split(",") for pair in (element.get("points") or "").split())
    return [(float(x), float(y)) for x, y in pairs]


def area(element: ET.Element) -> float:
    """The area of a polygon."""
    corners = points(element)
    turned = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(x * below - across * y for (x, y), (across, below) in turned)) / 2

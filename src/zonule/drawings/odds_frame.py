"""The frame that odds are drawn in: refraction along one side, a lane for each lens power along the other."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import ceil, floor

from zonule.case.plan import Prediction, is_same_power, prediction_of
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import in_100_text, power_number_text, refraction_text, signed_text
from zonule.drawings.svg import Anchor, Element, Stroke, line, polygon, text

BAND_DPT = 0.5
"""Half-width of the band about the aim that counts as landing well."""
SMALL_PX, PLAIN_PX, LARGE_PX = 12.5, 14.0, 17.0

_SIDEWAYS_BELOW_PX = 560
_MANY_LANES_FROM_PX, _MANY, _FEW = 800, 11, 9
_LEAST_REACH_DPT, _ROOM_DPT, _TICK_DPT = 1.5, 0.6, 0.5


@dataclass(frozen=True, slots=True)
class Lane:
    """What is written at a lane."""

    power_dpt: float
    chance: str
    """In 100, within half a dioptre; empty where there is none."""
    word: str
    """Why this lane stands out; empty when it does not."""
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class OddsFrame(ABC):
    """Where refractions and powers lie on the page."""

    width_px: float
    lanes: tuple[Lane, ...]
    aim_dpt: float
    low_dpt: float
    high_dpt: float

    @property
    @abstractmethod
    def height_px(self) -> float:
        """Height of the drawing."""

    @abstractmethod
    def point(self, place: float, refraction_dpt: float) -> tuple[float, float]:
        """Where a place, counted in lanes, and a refraction meet."""

    @abstractmethod
    def in_lane(self, lane: int, height: float) -> float:
        """The place of a height, 0 to 1, above the base line of a lane."""

    @abstractmethod
    def scale(self) -> list[Element]:
        """The words and figures along the refraction."""

    @abstractmethod
    def aim_words(self) -> list[Element]:
        """The words at the line of the aim."""

    @abstractmethod
    def lane_words(self, index: int) -> list[Element]:
        """Power, chance and mark of one lane."""

    @abstractmethod
    def heads(self) -> list[Element]:
        """What the figures at the lanes are."""

    @property
    def has_chances(self) -> bool:
        """Whether any lane has a chance to show."""
        return any(lane.chance for lane in self.lanes)

    def share(self, refraction_dpt: float) -> float:
        """How far along the scale a refraction lies, 0 to 1."""
        return (refraction_dpt - self.low_dpt) / (self.high_dpt - self.low_dpt)

    def ticks(self) -> list[float]:
        """Every half dioptre in range."""
        steps = range(ceil(self.low_dpt / _TICK_DPT), floor(self.high_dpt / _TICK_DPT) + 1)
        return [step * _TICK_DPT for step in steps]

    def across(self, refraction_dpt: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both ends of the line of one refraction."""
        return self.point(0, refraction_dpt), self.point(len(self.lanes), refraction_dpt)

    @property
    def ground(self) -> list[Element]:
        """Band, help lines, scale and what stands at the lanes."""
        low, high = self.across(self.aim_dpt - BAND_DPT), self.across(self.aim_dpt + BAND_DPT)
        grid = [line(*self.across(tick), Stroke(PAPER.grid, 1)) for tick in self.ticks()]
        lanes = [part for index in range(len(self.lanes)) for part in self.lane_words(index)]
        band = polygon([*low, *high[::-1]], fill=PAPER.accent_wash, class_="band")
        return [band, *grid, *self.scale(), *self.heads(), *lanes]

    @property
    def aim(self) -> list[Element]:
        """The line of the aim and its words."""
        return [line(*self.across(self.aim_dpt), Stroke(PAPER.accent, 1.6), class_="aim"), *self.aim_words()]


def _small(at: tuple[float, float], content: str, anchor: Anchor = "start") -> Element:
    return text(at, content, size=SMALL_PX, fill=PAPER.muted, anchor=anchor)


def _power(at: tuple[float, float], lane: Lane, anchor: Anchor) -> Element:
    return text(
        at,
        power_number_text(lane.power_dpt),
        size=LARGE_PX,
        fill=PAPER.accent if lane.is_chosen else PAPER.ink,
        anchor=anchor,
        bold=lane.is_chosen,
        class_="power",
    )


def _chance(at: tuple[float, float], lane: Lane, anchor: Anchor) -> Element:
    return text(
        at,
        lane.chance,
        size=LARGE_PX if lane.is_chosen else PLAIN_PX,
        fill=PAPER.accent if lane.is_chosen else PAPER.muted,
        anchor=anchor,
        bold=lane.is_chosen,
        class_="chance",
    )


def _word(at: tuple[float, float], lane: Lane, anchor: Anchor) -> Element:
    fill = PAPER.accent if lane.is_chosen else PAPER.ink
    return text(at, lane.word, size=SMALL_PX, fill=fill, anchor=anchor, bold=lane.is_chosen, class_="word")


@dataclass(frozen=True, slots=True)
class Upright(OddsFrame):
    """Refraction runs up the page, powers run to the right."""

    _LEFT, _RIGHT, _TOP, _PLOT, _BELOW = 74.0, 118.0, 34.0, 330.0, 84.0

    @property
    def height_px(self) -> float:
        """Height of the drawing."""
        return self._TOP + self._PLOT + self._BELOW

    def point(self, place: float, refraction_dpt: float) -> tuple[float, float]:
        """Where a place, counted in lanes, and a refraction meet."""
        lane_px = (self.width_px - self._LEFT - self._RIGHT) / len(self.lanes)
        return self._LEFT + place * lane_px, self._TOP + (1 - self.share(refraction_dpt)) * self._PLOT

    def in_lane(self, lane: int, height: float) -> float:
        """The place of a height, 0 to 1, above the base line of a lane: bodies swell to the right."""
        return lane + 0.14 + 0.74 * height

    def scale(self) -> list[Element]:
        """Figures to the left, words at the upper and lower end."""
        left, right = self._LEFT - 9, self.width_px - self._RIGHT + 10
        ticks = [
            _small((left, self.point(0, tick)[1] + 4.5), signed_text(tick, 1), "end") for tick in self.ticks()
        ]
        return [
            _small((0, 14), "Refraction after the operation, D"),
            *ticks,
            _small((right, self._TOP + 4.5), "long-sighted"),
            _small((right, self._TOP + self._PLOT + 4.5), "short-sighted"),
        ]

    def aim_words(self) -> list[Element]:
        """To the right of the line."""
        row, x = self.point(0, self.aim_dpt)[1], self.width_px - self._RIGHT + 10
        said = f"aim {refraction_text(self.aim_dpt)}"
        return [
            text((x, row + 5), said, size=PLAIN_PX, fill=PAPER.accent, bold=True),
            _small((x, row + 23), "shaded: within"),
            _small((x, row + 39), "half a dioptre"),
        ]

    def lane_words(self, index: int) -> list[Element]:
        """Below the lane."""
        lane, x, row = self.lanes[index], self.point(index + 0.5, 0)[0], self._TOP + self._PLOT
        parts = [_power((x, row + 26), lane, "middle")]
        if lane.chance:
            parts.append(_chance((x, row + 48), lane, "middle"))
        if lane.word:
            parts.append(_word((x, row + 78), lane, "middle"))
        if lane.is_chosen:
            corners = [(x, row + 56), (x - 6, row + 65), (x + 6, row + 65)]
            parts.append(polygon(corners, fill=PAPER.accent, class_="mark"))
        return parts

    def heads(self) -> list[Element]:
        """Left of the rows."""
        x, row = self._LEFT - 9, self._TOP + self._PLOT
        power = _small((x, row + 25), "power, D", "end")
        return [power, *([_small((x, row + 47), "in 100", "end")] if self.has_chances else [])]


@dataclass(frozen=True, slots=True)
class Sideways(OddsFrame):
    """Refraction runs to the right, powers run down: for phones."""

    _LEFT, _RIGHT, _TOP, _LANE, _BELOW = 66.0, 40.0, 52.0, 46.0, 44.0

    @property
    def height_px(self) -> float:
        """Height of the drawing."""
        return self._TOP + self._LANE * len(self.lanes) + self._BELOW

    def point(self, place: float, refraction_dpt: float) -> tuple[float, float]:
        """Where a place, counted in lanes, and a refraction meet."""
        plot_px = self.width_px - self._LEFT - self._RIGHT
        return self._LEFT + self.share(refraction_dpt) * plot_px, self._TOP + place * self._LANE

    def in_lane(self, lane: int, height: float) -> float:
        """The place of a height, 0 to 1, above the base line of a lane: bodies swell upwards."""
        return lane + 0.94 - 0.84 * height

    def scale(self) -> list[Element]:
        """Figures and words below."""
        row, right = self._TOP + self._LANE * len(self.lanes), self.width_px - self._RIGHT
        whole = [tick for tick in self.ticks() if tick == int(tick)]
        ticks = [_small((self.point(0, tick)[0], row + 16), signed_text(tick, 0), "middle") for tick in whole]
        words = [
            _small((self._LEFT, row + 36), "short-sighted"),
            _small((right, row + 36), "long-sighted", "end"),
        ]
        return [*ticks, *words]

    def aim_words(self) -> list[Element]:
        """Above the line."""
        x, said = self.point(0, self.aim_dpt)[0], f"aim {refraction_text(self.aim_dpt)}"
        return [
            text((x, self._TOP - 26), said, size=PLAIN_PX, fill=PAPER.accent, anchor="middle", bold=True),
            _small((x, self._TOP - 9), "shaded: within half a dioptre", "middle"),
        ]

    def lane_words(self, index: int) -> list[Element]:
        """Power to the left of the lane, chance to its right."""
        lane, row = self.lanes[index], self.point(index + 0.62, 0)[1]
        at_power, at_chance = self._LEFT - 12, self.width_px - 2
        parts = [_power((at_power, row), lane, "end")]
        if lane.chance:
            parts.append(_chance((at_chance, row), lane, "end"))
        if lane.word:
            parts.append(_word((at_power, row + 15), lane, "end"))
        if lane.is_chosen:
            corners = [(at_power + 10, row - 6), (at_power + 2, row - 11), (at_power + 2, row - 1)]
            parts.append(polygon(corners, fill=PAPER.accent, class_="mark"))
        return parts

    def heads(self) -> list[Element]:
        """Above the lanes."""
        row = self._TOP - 9
        power = _small((self._LEFT - 12, row), "power", "end")
        return [power, *([_small((self.width_px - 2, row), "in 100", "end")] if self.has_chances else [])]


def window(
    predictions: tuple[Prediction, ...], centre_dpt: float, chosen_dpt: float | None, width_px: int
) -> tuple[Prediction, ...]:
    """As many powers as find room about a centre; about the chosen one when that would be left out."""
    count = _MANY if width_px >= _MANY_LANES_FROM_PX else _FEW
    shown = _around(predictions, centre_dpt, count)
    if chosen_dpt is None or prediction_of(shown, chosen_dpt) is not None:
        return shown
    return _around(predictions, chosen_dpt, count)


def _around(predictions: tuple[Prediction, ...], centre_dpt: float, count: int) -> tuple[Prediction, ...]:
    nearest = min(
        range(len(predictions)), key=lambda at: abs(predictions[at].lens_power_dpt - centre_dpt), default=0
    )
    first = max(0, min(nearest - count // 2, len(predictions) - count))
    return predictions[first : first + count]


def lane_of(prediction: Prediction, best_dpt: float | None, chosen_dpt: float | None) -> Lane:
    """What is written at the lane of a prediction."""
    power, spread = prediction.lens_power_dpt, prediction.spread
    is_chosen = is_same_power(power, chosen_dpt)
    word = "chosen" if is_chosen else "best odds" if is_same_power(power, best_dpt) else ""
    return Lane(power, "" if spread is None else in_100_text(spread.within_0_50), word, is_chosen)


def odds_frame(
    lanes: tuple[Lane, ...], refractions_dpt: tuple[float, ...], aim_dpt: float, width_px: int
) -> OddsFrame:
    """A frame for a width that shows every predicted refraction, with the aim in its middle."""
    farthest = max((abs(refraction - aim_dpt) for refraction in refractions_dpt), default=0.0)
    reach = max(_LEAST_REACH_DPT, ceil((farthest + _ROOM_DPT) / _TICK_DPT) * _TICK_DPT)
    kind = Sideways if width_px < _SIDEWAYS_BELOW_PX else Upright
    return kind(float(width_px), lanes, aim_dpt, aim_dpt - reach, aim_dpt + reach)

"""Labels that keep out of each other's way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from zonule.drawings.svg import Anchor, Element, text

_WIDTH_PER_EM = 0.5
"""Advance of the shipped font, a little more than it is on average; only used to leave room."""
_LINE_PER_EM = 1.15


def text_width(content: str, size: float) -> float:
    """About how wide a line of text is."""
    return _WIDTH_PER_EM * size * len(content)


def wrapped(content: str, width: float, size: float) -> list[str]:
    """Text in lines that fit a width.

    Examples
    --------
    >>> wrapped("one two three", 60.0, 12.0)
    ['one two', 'three']
    """
    lines: list[str] = []
    for word in content.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


@dataclass(frozen=True, slots=True)
class Label:
    """One or more lines of text about a centre."""

    lines: tuple[str, ...]
    at: tuple[float, float]
    """Start, middle or end of the block, at half its height."""
    size: float
    fill: str
    anchor: Anchor = "middle"
    bold: bool = False
    class_: str = ""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        width = max(text_width(line, self.size) for line in self.lines)
        height = self.size * _LINE_PER_EM * len(self.lines)
        left = self.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return left, self.at[1] - height / 2, left + width, self.at[1] + height / 2

    @property
    def elements(self) -> list[Element]:
        """The label as drawn."""
        first = self.at[1] - self.size * _LINE_PER_EM * (len(self.lines) - 1) / 2 + 0.35 * self.size
        return [
            text(
                (self.at[0], first + index * self.size * _LINE_PER_EM),
                line,
                size=self.size,
                fill=self.fill,
                anchor=self.anchor,
                bold=self.bold,
                class_=self.class_ or None,
            )
            for index, line in enumerate(self.lines)
        ]


@dataclass(slots=True)
class Labels:
    """Labels placed so far, the ones that matter most first."""

    gap: float
    placed: list[Label] = field(default_factory=list)
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)
    """Boxes, left, top, right, bottom, that no label may cover."""

    def keep_clear(self, points: Iterable[tuple[float, float]]) -> None:
        """Keep labels off the box around these points."""
        across, down = zip(*points, strict=True)
        self.taken.append((min(across), min(down), max(across), max(down)))

    def place(self, candidates: Iterable[Label]) -> None:
        """Place the first candidate that is free of the others; the first of all when none is."""
        options = list(candidates)
        self._put(next((label for label in options if self._is_free(label)), options[0]))

    def place_any_free(self, candidates: Iterable[Label]) -> None:
        """Place the first candidate that is free; none of them when all are taken."""
        free = next((label for label in candidates if self._is_free(label)), None)
        if free is not None:
            self._put(free)

    @property
    def elements(self) -> list[Element]:
        """Everything placed."""
        return [element for label in self.placed for element in label.elements]

    def _put(self, label: Label) -> None:
        self.placed.append(label)
        self.taken.append(label.box)

    def _is_free(self, label: Label) -> bool:
        left, top, right, bottom = label.box
        return all(
            right + self.gap <= other[0]
            or other[2] + self.gap <= left
            or bottom + self.gap <= other[1]
            or other[3] + self.gap <= top
            for other in self.taken
        )

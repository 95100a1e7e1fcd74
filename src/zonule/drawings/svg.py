"""A small SVG builder: typed elements, escaped text, numbers that always print the same bytes.

No `style` attributes and no ids, so that a drawing works under a strict content security policy and may
stand on one page with others.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypeAlias
from xml.sax.saxutils import escape, quoteattr

from zonule.drawings.ink import FONT_FAMILY

Anchor = Literal["start", "middle", "end"]
Attribute: TypeAlias = str | float | None

_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture and the same in words."""

    svg: str
    """Fills the width it is given; carries its own title and description."""
    description: str
    """What the picture says, for who cannot see it."""


@dataclass(frozen=True, slots=True)
class Element:
    """One element and what is in it; `str` of it is its markup."""

    name: str
    attributes: tuple[tuple[str, str], ...] = ()
    children: tuple[Element | str, ...] = ()

    def __str__(self) -> str:
        opening = self.name + "".join(f" {key}={quoteattr(value)}" for key, value in self.attributes)
        if not self.children:
            return f"<{opening}/>"
        inside = "".join(child if isinstance(child, str) else str(child) for child in self.children)
        return f"<{opening}>{inside}</{self.name}>"


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn."""

    colour: str
    width: float
    dashes: tuple[float, ...] = ()
    cap: Literal["butt", "round"] = "butt"


def number(value: float) -> str:
    """A coordinate with at most three decimals.

    Examples
    --------
    >>> number(1.0), number(-0.0001), number(2.34567)
    ('1', '0', '2.346')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def words(text: str) -> str:
    """Text as it may stand inside an element; characters that XML forbids become U+FFFD.

    Examples
    --------
    >>> words("<b> & co")
    '&lt;b&gt; &amp; co'
    """
    return escape(_NOT_IN_XML.sub("\ufffd", text))


def element(name: str, *children: Element | str, **attributes: Attribute) -> Element:
    """An element; underscores in attribute names stand for hyphens, None leaves an attribute out.

    A child given as text must already be markup: see `words`.
    """
    written = tuple(
        (key.rstrip("_").replace("_", "-"), value if isinstance(value, str) else number(value))
        for key, value in attributes.items()
        if value is not None
    )
    return Element(name, written, children)


def _stroke_attributes(stroke: Stroke | None) -> dict[str, Attribute]:
    if stroke is None:
        return {"stroke": None}
    return {
        "stroke": stroke.colour,
        "stroke_width": stroke.width,
        "stroke_dasharray": " ".join(number(part) for part in stroke.dashes) or None,
        "stroke_linecap": None if stroke.cap == "butt" else stroke.cap,
    }


def line(
    start: tuple[float, float], end: tuple[float, float], stroke: Stroke, class_: str | None = None
) -> Element:
    """A straight line."""
    ends: dict[str, Attribute] = {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1]}
    return element("line", class_=class_, **ends, **_stroke_attributes(stroke))


def circle(
    centre: tuple[float, float],
    radius: float,
    *,
    fill: str = "none",
    stroke: Stroke | None = None,
    class_: str | None = None,
) -> Element:
    """A circle."""
    return element(
        "circle",
        class_=class_,
        cx=centre[0],
        cy=centre[1],
        r=radius,
        fill=fill,
        **_stroke_attributes(stroke),
    )


def rectangle(
    corner: tuple[float, float],
    size: tuple[float, float],
    *,
    fill: str = "none",
    stroke: Stroke | None = None,
    class_: str | None = None,
) -> Element:
    """A rectangle by its upper left corner."""
    return element(
        "rect",
        class_=class_,
        x=corner[0],
        y=corner[1],
        width=size[0],
        height=size[1],
        fill=fill,
        **_stroke_attributes(stroke),
    )


def polygon(
    points: Iterable[tuple[float, float]],
    *,
    fill: str = "none",
    stroke: Stroke | None = None,
    class_: str | None = None,
) -> Element:
    """A closed outline through points."""
    corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return element("polygon", class_=class_, points=corners, fill=fill, **_stroke_attributes(stroke))


def polyline(points: Iterable[tuple[float, float]], stroke: Stroke, class_: str | None = None) -> Element:
    """An open line through points."""
    corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return element("polyline", class_=class_, points=corners, fill="none", **_stroke_attributes(stroke))


def text(
    at: tuple[float, float],
    content: str,
    *,
    size: float,
    fill: str,
    anchor: Anchor = "start",
    bold: bool = False,
    class_: str | None = None,
) -> Element:
    """A line of upright text whose baseline starts, centres or ends at a point."""
    return element(
        "text",
        words(content),
        class_=class_,
        x=at[0],
        y=at[1],
        font_size=size,
        fill=fill,
        text_anchor=None if anchor == "start" else anchor,
        font_weight="700" if bold else None,
    )


def picture(
    kind: str,
    box: tuple[float, float, float, float],
    content: Iterable[Element],
    *,
    title: str,
    description: str,
    **data: Attribute,
) -> Drawing:
    """A whole drawing.

    Parameters
    ----------
    kind
        Class name, so that a page can size this kind of drawing.
    box
        Left, top, width and height of what is shown.
    content
        What is drawn, backmost first.
    title, description
        The accessible name, and everything the picture says, in words.
    data
        What a script on the page has to know, as `data_` attributes.
    """
    root = element(
        "svg",
        element("title", words(title)),
        element("desc", words(description)),
        *content,
        xmlns="http://www.w3.org/2000/svg",
        class_=f"drawing {kind}",
        viewBox=" ".join(number(side) for side in box),
        role="img",
        font_family=FONT_FAMILY,
        **data,
    )
    return Drawing(str(root), f"{title}. {description}")

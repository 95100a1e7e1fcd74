"""Marks that are told apart by shape, not by colour."""

from __future__ import annotations

from zonule.drawings.svg import Element, Stroke, circle, polygon

MARK_NAMES = ("disc", "square", "triangle", "diamond")

_CORNERS = {
    "square": ((-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)),
    "triangle": ((0.0, -1.1), (1.0, 0.75), (-1.0, 0.75)),
    "diamond": ((0.0, -1.2), (1.2, 0.0), (0.0, 1.2), (-1.2, 0.0)),
}


def mark(
    name: str, at: tuple[float, float], radius: float, *, fill: str, stroke: Stroke | None = None
) -> Element:
    """A mark of a shape about a point."""
    if name not in _CORNERS:
        return circle(at, radius, fill=fill, stroke=stroke, class_=f"mark-{name}")
    corners = [(at[0] + radius * x, at[1] + radius * y) for x, y in _CORNERS[name]]
    return polygon(corners, fill=fill, stroke=stroke, class_=f"mark-{name}")

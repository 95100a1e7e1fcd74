"""Palette and line weights of everything that is drawn.

Text stands at 4.5:1 or better against its ground, lines that matter at 3:1 (WCAG 2.2, success criteria 1.4.3
and 1.4.11); a test computes the ratios. Colour never carries meaning alone: solid is measured or done,
dashed is planned, dotted is not measured.
"""

from __future__ import annotations

from dataclasses import dataclass

FONT_FAMILY = "Atkinson Hyperlegible Next, sans-serif"


@dataclass(frozen=True, slots=True)
class Ink:
    """One set of colours, each named for its use."""

    paper: str
    ink: str
    """Text and measured outlines."""
    muted: str
    """Secondary text and scales."""
    grid: str
    """Help lines that carry nothing by themselves."""
    accent: str
    """What was chosen or is planned."""
    accent_wash: str
    """The band of half a dioptre."""
    amber: str
    """Doubts."""
    amber_wash: str
    iris: str
    pupil: str
    on_pupil: str
    accent_on_pupil: str
    body: str
    """Distributions not chosen: the part outside the band."""
    body_within: str
    """Distributions not chosen: the part inside the band."""
    accent_body: str
    """The distribution chosen: the part outside the band."""
    body_outline: str


PAPER = Ink(
    paper="#FBFAF5",
    ink="#1A2230",
    muted="#566070",
    grid="#DDDBD1",
    accent="#0B5A64",
    accent_wash="#E1EDEA",
    amber="#8A4A06",
    amber_wash="#FCF1DE",
    iris="#E9E7DC",
    pupil="#252D38",
    on_pupil="#F5F2E8",
    accent_on_pupil="#7ADAE0",
    body="#DCE3E2",
    body_within="#A9BBBD",
    accent_body="#86B3B6",
    body_outline="#74868C",
)

DARK = Ink(
    paper="#0E141B",
    ink="#F5F2E8",
    muted="#B6BEC7",
    grid="#38424D",
    accent="#6AD3DA",
    accent_wash="#17323A",
    amber="#F2B765",
    amber_wash="#3A2A12",
    iris="#1D2731",
    pupil="#05080B",
    on_pupil="#F5F2E8",
    accent_on_pupil="#7ADAE0",
    body="#26323C",
    body_within="#4B5D69",
    accent_body="#2F7C84",
    body_outline="#7F919C",
)


def ink_for(*, dark: bool) -> Ink:
    """The palette of a paper-like page or of the theatre display."""
    return DARK if dark else PAPER

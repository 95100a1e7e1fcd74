"""What each cylinder would leave: how many of 100 eyes end with how much, as bars side by side."""

from __future__ import annotations

from collections.abc import Sequence

from zonule.case.toric import ToricOption, ToricPlan
from zonule.drawings.ink import PAPER
from zonule.drawings.numbers import in_100_text, size_text
from zonule.drawings.svg import Drawing, Element, Stroke, line, picture, rectangle, text
from zonule.drawings.toric_sentences import option_sentence

_SMALL_PX, _PLAIN_PX = 12.5, 14.0
_LEFT_PX, _RIGHT_PX, _ROW_PX, _BAR_PX, _TOP_PX = 78.0, 14.0, 30.0, 18.0, 46.0
_FILLS = (PAPER.accent, PAPER.accent_body, PAPER.body_within, PAPER.body)
_KEYS = ("0.25 D", "0.50", "0.75", "1.00")


def cylinders_drawing(toric: ToricPlan, chosen_dpt: float | None, *, width: int = 720) -> Drawing:
    """One bar for each cylinder, in hundredths of eyes; a thick line under it ends at half a dioptre or less.

    Parameters
    ----------
    toric
        The plan's astigmatism.
    chosen_dpt
        The cylinder chosen, at the lens; None for none yet.
    width
        Width in CSS pixels at which the drawing will be shown.
    """
    options = toric.all_options
    room = width - _LEFT_PX - _RIGHT_PX
    rows = [
        part
        for place, option in enumerate(options)
        for part in _row(option, _TOP_PX + place * _ROW_PX, room, is_chosen=_is(option, chosen_dpt))
    ]
    foot = _TOP_PX + _ROW_PX * len(options)
    content = [*_heads(room), *rows, *_scale(foot, room)]
    said = " ".join(option_sentence(toric, option) for option in options)
    box = (0.0, 0.0, float(width), foot + 38.0)
    title = "What each cylinder would leave, in 100 eyes like this"
    return picture("cylinders", box, content, title=title, description=said)


def _is(option: ToricOption, chosen_dpt: float | None) -> bool:
    return chosen_dpt is not None and option.lens_cylinder_dpt == chosen_dpt


def _heads(room: float) -> list[Element]:
    """What each shade means, at the top, in the order of the bars."""
    parts: list[Element] = [
        text((_LEFT_PX, 14), "cylinder left at the cornea, or less", size=_SMALL_PX, fill=PAPER.muted)
    ]
    step = min(room / 4.0, 130.0)
    for place, (fill, said) in enumerate(zip(_FILLS, _KEYS, strict=True)):
        left = _LEFT_PX + place * step
        parts.append(rectangle((left, 22), (12, 12), fill=fill, stroke=Stroke(PAPER.body_outline, 0.8)))
        parts.append(text((left + 17, 32), said, size=_SMALL_PX, fill=PAPER.ink))
    return parts


def _row(option: ToricOption, top: float, room: float, *, is_chosen: bool) -> list[Element]:
    lens = "none" if option.lens_cylinder_dpt == 0.0 else size_text(option.lens_cylinder_dpt)
    label = text((_LEFT_PX - 8, top + 14), lens, size=_PLAIN_PX, fill=PAPER.ink, anchor="end", bold=is_chosen)
    half = _LEFT_PX + room * option.within_0_50
    parts = [label, *_shares(option.within, top, room)]
    parts.append(line((half, top - 2), (half, top + _BAR_PX + 2), Stroke(PAPER.ink, 2.0), class_="half"))
    count = in_100_text(option.within_0_50)
    at_left = half > _LEFT_PX + room - 40
    parts.append(
        text(
            (half - 5 if at_left else half + 5, top + 14),
            count,
            size=_PLAIN_PX,
            fill="#FFFFFF" if at_left else PAPER.ink,
            anchor="end" if at_left else "start",
            bold=True,
        )
    )
    if is_chosen:
        edge = Stroke(PAPER.accent, 2.4)
        parts.append(rectangle((_LEFT_PX - 74, top - 4), (room + 80, _BAR_PX + 8), fill="none", stroke=edge))
    return parts


def _shares(within: Sequence[float], top: float, room: float) -> list[Element]:
    parts, begin = [], 0.0
    for fill, share in zip(_FILLS, within, strict=True):
        left, wide = _LEFT_PX + room * begin, room * max(share - begin, 0.0)
        parts.append(rectangle((left, top), (wide, _BAR_PX), fill=fill, class_="share"))
        begin = share
    parts.append(
        rectangle((_LEFT_PX, top), (room, _BAR_PX), fill="none", stroke=Stroke(PAPER.body_outline, 0.8))
    )
    return parts


def _scale(foot: float, room: float) -> list[Element]:
    parts: list[Element] = []
    for count in range(0, 101, 25):
        at = _LEFT_PX + room * count / 100.0
        parts.append(line((at, foot - 6), (at, foot - 1), Stroke(PAPER.muted, 1)))
        parts.append(text((at, foot + 13), str(count), size=_SMALL_PX, fill=PAPER.muted, anchor="middle"))
    said = "of 100 eyes; black stroke: half a dioptre or less"
    parts.append(text((4.0, foot + 31), said, size=_SMALL_PX, fill=PAPER.muted))
    return parts

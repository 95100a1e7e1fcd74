"""Which characters a sheet can print, so that a name in another script costs no sheet.

PDF/A refuses a page with a character that no font has. The shipped font is Latin; DejaVu Sans Mono, which
comes with Typst, stands in for Greek and Cyrillic; everything else prints as a question mark, and the sheet
says so.
"""

from __future__ import annotations

import struct
import unicodedata
from functools import lru_cache
from pathlib import Path

FONTS = Path(__file__).with_name("fonts")
FONT_FAMILY, STAND_IN_FAMILY = "Atkinson Hyperlegible Next", "DejaVu Sans Mono"
MISSING = "?"

_STAND_IN = frozenset({*range(0x0386, 0x03CF), *range(0x0400, 0x0460)})
_UNICODE_MAP = (3, 1)
_SEGMENTS_FORMAT = 4


def printable(text: str) -> str:
    """The text with every character that no font of ours has replaced by a question mark.

    Line breaks become spaces, and the micro sign becomes the Greek letter, which the font has. Marks that
    turn the direction of text are replaced too: they could make another name of it.

    Examples
    --------
    >>> printable("\u0141ucja \u4e2d\u202ea")
    '\u0141ucja ??a'
    """
    text = unicodedata.normalize("NFC", " ".join(text.split())).replace("\u00b5", "\u03bc")
    known = _covered() | _STAND_IN
    return "".join(
        sign if ord(sign) in known and unicodedata.category(sign) not in {"Cc", "Cf"} else MISSING
        for sign in text
    )


@lru_cache(maxsize=1)
def _covered() -> frozenset[int]:
    """Code points that all three shipped weights have."""
    files = sorted(FONTS.glob("*.ttf"))
    return frozenset.intersection(*(_code_points(file.read_bytes()) for file in files))


def _code_points(font: bytes) -> frozenset[int]:
    """The code points of a TrueType font, from its Unicode map (OpenType 1.9, cmap format 4)."""
    table = _table(font, b"cmap")
    (count,) = struct.unpack_from(">H", font, table + 2)
    for index in range(count):
        platform, encoding, offset = struct.unpack_from(">HHL", font, table + 4 + 8 * index)
        start = table + offset
        if (platform, encoding) == _UNICODE_MAP and struct.unpack_from(">H", font, start)[
            0
        ] == _SEGMENTS_FORMAT:
            return _segments(font, start)
    msg = "The shipped font has no Unicode map of format 4."
    raise ValueError(msg)


def _table(font: bytes, tag: bytes) -> int:
    (count,) = struct.unpack_from(">H", font, 4)
    entries = (struct.unpack_from(">4sLLL", font, 12 + 16 * index) for index in range(count))
    return next(int(offset) for name, _, offset, _ in entries if name == tag)


def _segments(font: bytes, start: int) -> frozenset[int]:
    (doubled,) = struct.unpack_from(">H", font, start + 6)
    layout = f">{doubled // 2}H"
    ends = struct.unpack_from(layout, font, start + 14)
    begins = struct.unpack_from(layout, font, start + 16 + doubled)
    found = {code for low, high in zip(begins, ends, strict=True) for code in range(low, high + 1)}
    return frozenset(found - {0xFFFF})

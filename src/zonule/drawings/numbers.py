"""Numbers as people read them. Screen, command line and sheet write every number through here."""

from __future__ import annotations

from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

from zonule.case.measured import Measured
from zonule.case.refraction import Refraction

MINUS = "\u2212"
PLUS_MINUS = "\u00b1"
DEGREE = "\u00b0"
TIMES = "\u00d7"

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_POWER_DECIMALS = (1, 2)
_LEAST_CHANCE, _GREATEST_CHANCE = 0.01, 0.99


def _rounded(value: float, decimals: int) -> Decimal:
    """Half away from zero, as people round, of the decimal that the number prints as."""
    return Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def plain_text(value: float, decimals: int) -> str:
    """A number with a true minus sign and no sign on zero.

    Examples
    --------
    >>> plain_text(43.125, 2), plain_text(-0.001, 2), plain_text(-2.5, 1)
    ('43.13', '0.00', '\u22122.5')
    """
    rounded = _rounded(value, decimals)
    return (MINUS if rounded < 0 else "") + f"{abs(rounded):.{decimals}f}"


def signed_text(value: float, decimals: int = 2) -> str:
    """A number that always shows its sign, except zero.

    Examples
    --------
    >>> signed_text(0.5), signed_text(-0.25), signed_text(-0.004)
    ('+0.50', '\u22120.25', '0.00')
    """
    return ("+" if _rounded(value, decimals) > 0 else "") + plain_text(value, decimals)


def refraction_text(refraction_dpt: float, decimals: int = 2) -> str:
    """A refraction, a prediction error or a shift of one: sign and unit always shown.

    Examples
    --------
    >>> refraction_text(-0.25), refraction_text(0.5), refraction_text(-0.001)
    ('\u22120.25 D', '+0.50 D', '0.00 D')
    """
    return f"{signed_text(refraction_dpt, decimals)} D"


def size_text(size_dpt: float, decimals: int = 2) -> str:
    """A size in dioptres without direction: a difference, a spread, a corneal power.

    Examples
    --------
    >>> size_text(43.25), size_text(-0.31)
    ('43.25 D', '0.31 D')
    """
    return f"{plain_text(abs(size_dpt), decimals)} D"


def typed_number(value: float | None) -> str:
    """A number as a form shows it: what the form sends back must be what it was given; empty for none.

    Examples
    --------
    >>> typed_number(1.25), typed_number(21.0), typed_number(1e-07), typed_number(None)
    ('1.25', '21', '0.0000001', '')
    """
    if value is None:
        return ""
    written = f"{Decimal(repr(value)):f}"
    return (written.rstrip("0").rstrip(".") if "." in written else written).replace("-", MINUS)


def power_number_text(power_dpt: float) -> str:
    """A lens power without its unit, with the decimals that its label carries.

    Examples
    --------
    >>> power_number_text(20.5), power_number_text(20.25), power_number_text(-3.0)
    ('20.5', '20.25', '\u22123.0')
    """
    short, long = (plain_text(power_dpt, decimals) for decimals in _POWER_DECIMALS)
    return short if long == short + "0" else long


def power_text(power_dpt: float) -> str:
    """A lens power.

    Examples
    --------
    >>> power_text(20.5), power_text(20.25)
    ('20.5 D', '20.25 D')
    """
    return f"{power_number_text(power_dpt)} D"


def mm_text(length_mm: float, decimals: int = 2) -> str:
    """A length in millimetres.

    Examples
    --------
    >>> mm_text(23.5), mm_text(5, decimals=1)
    ('23.50 mm', '5.0 mm')
    """
    return f"{plain_text(length_mm, decimals)} mm"


def um_text(length_um: float) -> str:
    """A length in micrometres.

    Examples
    --------
    >>> um_text(540.2)
    '540 \u00b5m'
    """
    return f"{plain_text(length_um, 0)} \u00b5m"


def degrees_text(angle_deg: float) -> str:
    """A direction or a difference of directions, to the degree.

    Examples
    --------
    >>> degrees_text(94.6), degrees_text(0)
    ('95\u00b0', '0\u00b0')
    """
    return f"{plain_text(angle_deg, 0)}{DEGREE}"


def axis_text(axis_deg: float) -> str:
    """A meridian, above 0 and up to 180: 0 is written 180.

    Examples
    --------
    >>> axis_text(95.0), axis_text(0.0), axis_text(180.0), axis_text(0.3)
    ('95\u00b0', '180\u00b0', '180\u00b0', '180\u00b0')
    """
    whole = int(_rounded(axis_deg, 0)) % 180
    return f"{whole or 180}{DEGREE}"


def in_100_text(fraction: float) -> str:
    """A chance as a bare count in a hundred; the ends stay honest.

    Examples
    --------
    >>> in_100_text(0.58), in_100_text(0.004), in_100_text(0.998)
    ('58', '<1', '>99')
    """
    if fraction < _LEAST_CHANCE:
        return "<1"
    if fraction > _GREATEST_CHANCE:
        return ">99"
    return plain_text(100 * fraction, 0)


def chance_text(fraction: float) -> str:
    """A chance in words.

    Examples
    --------
    >>> chance_text(0.58), chance_text(0.004), chance_text(0.998)
    ('58 in 100', 'fewer than 1 in 100', 'more than 99 in 100')
    """
    count = in_100_text(fraction).replace("<", "fewer than ").replace(">", "more than ")
    return f"{count} in 100"


def spread_text(sd: float | None, decimals: int, unit: str) -> str:
    """A standard deviation, or that nobody knows it.

    Examples
    --------
    >>> spread_text(0.02, 2, "mm"), spread_text(None, 2, "mm")
    ('\u00b1 0.02 mm', 'spread not known')
    """
    if sd is None:
        return "spread not known"
    return f"{PLUS_MINUS} {plain_text(sd, decimals)} {unit}"


def measured_text(measured: Measured | None, decimals: int, unit: str) -> str:
    """A measurement with its spread, when it has one; or that there is none.

    Examples
    --------
    >>> measured_text(Measured(23.5, sd=0.02, n=3), 2, "mm"), measured_text(None, 2, "mm")
    ('23.50 \u00b1 0.02 mm', 'not measured')
    """
    if measured is None:
        return "not measured"
    spread = "" if measured.sd is None else f" {PLUS_MINUS} {plain_text(measured.sd, decimals)}"
    return f"{plain_text(measured.value, decimals)}{spread} {unit}"


def sphero_cylinder_text(refraction: Refraction) -> str:
    """Glasses or a refraction, as they are written.

    Examples
    --------
    >>> sphero_cylinder_text(Refraction(0.5, -0.75, 90.0)), sphero_cylinder_text(Refraction(-1.0))
    ('+0.50 / \u22120.75 \u00d7 90\u00b0', '\u22121.00')
    """
    sphere = signed_text(refraction.sphere_dpt)
    if not refraction.cylinder_dpt or refraction.axis_deg is None:
        return sphere
    return f"{sphere} / {signed_text(refraction.cylinder_dpt)} {TIMES} {axis_text(refraction.axis_deg)}"


def day_text(day: date) -> str:
    """A day, with the month as a word so that nobody reads it the other way round.

    Examples
    --------
    >>> day_text(date(2026, 12, 3))
    '3 December 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def time_text(moment: datetime) -> str:
    """A moment, to the minute, in the zone that it is given in.

    Examples
    --------
    >>> from datetime import UTC
    >>> time_text(datetime(2026, 12, 3, 7, 5, tzinfo=UTC))
    '3 December 2026, 07:05 UTC'
    """
    zone = moment.tzname() or ""
    return f"{day_text(moment)}, {moment:%H:%M} {zone}".rstrip()

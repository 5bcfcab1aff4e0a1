"""Figures typed with their unit, turned exactly into the one unit we compare in.

A figure without a unit is refused, because the wrong guess hurts: 4.5 taken for psi is a flat
tyre. The digits typed are kept beside the value, so that a sheet shows what was written.

Source of the conversions: the international yard and pound agreement of 1959, by which the inch
is 25.4 mm, the mile 1.609344 km and the pound 0.45359237 kg, all exact by definition (grade:
memory, known everywhere). The psi is derived: pound times 9.80665 m/s2 over the square inch. That
quotient does not end and is cut at 13 figures, less than 6 parts in 10^14 below it.
"""

import re
from collections.abc import Mapping
from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, Context, Decimal
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple, NoReturn

# Products of the digits typed, never rounded, whatever context the caller works in.
_EXACT = Context(prec=MAX_PREC, Emax=MAX_EMAX, Emin=MIN_EMIN)

_INCH_MM = Decimal("25.4")
_FOOT_MM = 12 * _INCH_MM


class Measure(NamedTuple):
    """A figure in the base unit of its dimension, and the text as it was typed."""

    dimension: str
    value: Decimal
    typed: str


class _Scale(NamedTuple):
    base: str
    units: Mapping[str, Decimal]  # one of this unit, in the base unit
    examples: str


def _scale(base: str, examples: str, **units: str) -> _Scale:
    return _Scale(base, {unit: Decimal(size) for unit, size in units.items()}, examples)


_SCALES: Mapping[str, _Scale] = {
    "length": _scale(
        "mm",
        "3050mm, 305cm, 3.05m, 10ft1in, 10ft or 121in",
        mm="1",
        cm="10",
        m="1000",
        ft=str(_FOOT_MM),
        **{"in": str(_INCH_MM)},
    ),
    "mass": _scale("kg", "3500kg, 3.5t or 7716lb", kg="1", t="1000", lb="0.45359237"),
    "pressure": _scale(
        "mbar",
        "65psi, 4.5bar, 450kPa or 4500mbar",
        mbar="1",
        bar="1000",
        kPa="10",
        psi="68.94757293168",
    ),
    "distance": _scale("km", "48000km or 30000mi", km="1", mi="1.609344"),
    "time": _scale("ms", "40ms or 0.04s", ms="1", s="1000"),
    "resistance": _scale(
        "Mohm",
        "2Mohm, 2MΩ, 2000kohm or 2000000ohm",
        Mohm="1",
        kohm="0.001",
        ohm="0.000001",
        MΩ="1",
        kΩ="0.001",
        Ω="0.000001",
    ),
    "voltage": _scale("V", "12.6V", V="1"),
    "temperature": _scale("C", "21C or 21°C", C="1", **{"°C": "1"}),
    "volume": _scale("l", "20l, 20000cm3 or 20000ml", l="1", cm3="0.001", ml="0.001"),
    "percent": _scale("%", "15%", **{"%": "1"}),
    "minutes": _scale("min", "30min", min="1"),
}

BASE_UNITS: Mapping[str, str] = MappingProxyType(
    {dimension: scale.base for dimension, scale in _SCALES.items()}
)

_FIGURE = r"[0-9]+(?:\.[0-9]+)?"
_FEET_AND_INCHES = re.compile(rf"([0-9]+)\s*ft\s*({_FIGURE})\s*in", re.IGNORECASE)
_PLAIN = re.compile(rf"({_FIGURE})([A-Za-z]+)")
_FIGURE_AND_UNIT = re.compile(rf"({_FIGURE})\s*(.*)", re.DOTALL)


def units_of(dimension: str) -> tuple[str, ...]:
    """The units a figure of a dimension may be typed in."""
    return tuple(_SCALES[dimension].units)


def unit_in(text: str) -> str:
    """The unit that a figure was typed with; nothing where it is no figure and one unit."""
    found = _PLAIN.fullmatch(text)
    return found[2] if found else ""


def read_measure(text: str, dimension: str, bare: bool = False) -> Measure:
    """Read a figure with its unit, as in "65psi" or "10 ft 1 in", spaces or not.

    With `bare` a figure alone is taken in the base unit, for a column whose heading says the unit.
    ValueError, as a sentence for the person who typed it, for anything else.
    """
    return _read(text.strip(), dimension, bare)


@lru_cache(maxsize=4096)
def _read(typed: str, dimension: str, bare: bool) -> Measure:
    scale = _SCALES.get(dimension)
    if scale is None:
        raise ValueError(f'"{dimension}" is not a dimension: use one of {", ".join(_SCALES)}')
    plain = _PLAIN.fullmatch(typed)
    if plain is not None and plain[2] in scale.units:  # as nearly every record has it
        return Measure(dimension, _EXACT.multiply(Decimal(plain[1]), scale.units[plain[2]]), typed)
    _refuse_other_ways_of_writing(typed, scale)
    both = _FEET_AND_INCHES.fullmatch(typed) if dimension == "length" else None
    if both is not None:
        return Measure(dimension, _feet_and_inches_mm(typed, both[1], both[2]), typed)
    found = _FIGURE_AND_UNIT.fullmatch(typed)
    if found is None:
        _refuse(typed, "does not begin with a figure", scale)
    figure, unit = found[1], found[2]
    if not unit and not bare:
        _refuse(typed, "has no unit", scale)
    size = _size(scale, unit or scale.base)
    if size is None:
        _refuse(typed, f'ends in "{unit}", which is not read as {dimension}', scale)
    return Measure(dimension, _EXACT.multiply(Decimal(figure), size), typed)


def _size(scale: _Scale, unit: str) -> Decimal | None:
    """Find the unit, in capitals or not: "65PSI" and "20L" are plain enough.

    Except for a small m before ohm. "mohm" is a milliohm, a thousand millionth of "Mohm", and an
    insulation test read the wrong way round passes a van that is live.
    """
    unit = unit.replace("\N{OHM SIGN}", "\N{GREEK CAPITAL LETTER OMEGA}")
    if scale.base == "Mohm" and unit.startswith("m"):
        return None
    for name, size in scale.units.items():
        if name.casefold() == unit.casefold():
            return size
    return None


def _feet_and_inches_mm(typed: str, feet: str, inches: str) -> Decimal:
    over = Decimal(inches)
    if over >= 12:
        raise ValueError(
            f'"{typed}" has 12 inches or more beside the feet: '
            "carry them into the feet, or type inches alone, as in 121in"
        )
    feet_mm = _EXACT.multiply(Decimal(feet), _FOOT_MM)
    return _EXACT.add(feet_mm, _EXACT.multiply(over, _INCH_MM))


def _refuse_other_ways_of_writing(typed: str, scale: _Scale) -> None:
    """Refuse what would be read as something else than was meant, each by its own name."""
    if "," in typed:
        # 3,500 is three and a half thousand in one country and three and a half in the next.
        _refuse(typed, "has a comma, which may part thousands or decimals", scale)
    if typed[:1] in ("-", "+", "\N{MINUS SIGN}"):
        _refuse(typed, "carries a sign, and only figures from 0 up are read", scale)
    if re.match(rf"{_FIGURE}[eE][-+]?[0-9]", typed):
        _refuse(typed, "is in powers of ten", scale)


def _refuse(typed: str, fault: str, scale: _Scale) -> NoReturn:
    raise ValueError(f'"{typed}" {fault}: type it as in {scale.examples}')

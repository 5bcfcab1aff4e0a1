"""Figures typed with their unit, checked against the definitions of the units."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.trade.measures import BASE_UNITS, Measure, read_measure

PRESSURE = "type it as in 65psi, 4.5bar, 450kPa or 4500mbar"
LENGTH = "type it as in 3050mm, 305cm, 3.05m, 10ft1in, 10ft or 121in"
RESISTANCE = "type it as in 2Mohm, 2MΩ, 2000kohm or 2000000ohm"
FIGURES = st.from_regex(r"[0-9]{1,40}(\.[0-9]{1,40})?", fullmatch=True)


def refusal(text: str, dimension: str, bare: bool = False) -> str:
    with pytest.raises(ValueError) as caught:
        read_measure(text, dimension, bare=bare)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("3050mm", "length", "3050"),
        ("305cm", "length", "3050"),
        ("3.05m", "length", "3050"),
        # 10 ft 1 in is 3073.4 mm and 10 ft 3048.0 mm: 12 inches to the foot, 25.4 mm to the inch.
        ("10ft1in", "length", "3073.4"),
        ("10 ft 1 in", "length", "3073.4"),
        ("10ft0in", "length", "3048"),
        ("10ft1.5in", "length", "3086.1"),
        ("10ft", "length", "3048"),
        ("121in", "length", "3073.4"),
        ("3500kg", "mass", "3500"),
        ("3.5t", "mass", "3500"),
        ("1lb", "mass", "0.45359237"),
        ("4500mbar", "pressure", "4500"),
        ("4.5bar", "pressure", "4500"),
        ("450kPa", "pressure", "4500"),
        ("1psi", "pressure", "68.94757293168"),
        ("48000km", "distance", "48000"),
        ("10mi", "distance", "16.09344"),
        ("40ms", "time", "40"),
        ("0.04s", "time", "40"),
        ("2Mohm", "resistance", "2"),
        ("2MΩ", "resistance", "2"),
        ("2M\N{OHM SIGN}", "resistance", "2"),
        ("500kohm", "resistance", "0.5"),
        ("500000ohm", "resistance", "0.5"),
        ("12.6V", "voltage", "12.6"),
        ("21C", "temperature", "21"),
        ("21°C", "temperature", "21"),
        ("20l", "volume", "20"),
        ("2000cm3", "volume", "2"),
        ("2000ml", "volume", "2"),
        ("15%", "percent", "15"),
        ("30min", "minutes", "30"),
    ],
)
def test_every_unit(text: str, dimension: str, value: str) -> None:
    """Each unit is turned exactly into the base unit of its dimension."""
    assert read_measure(text, dimension) == Measure(dimension, Decimal(value), text)


def test_base_units() -> None:
    """Values come in the units the rest of the program names its figures by."""
    assert dict(BASE_UNITS) == {
        "length": "mm",
        "mass": "kg",
        "pressure": "mbar",
        "distance": "km",
        "time": "ms",
        "resistance": "Mohm",
        "voltage": "V",
        "temperature": "C",
        "volume": "l",
        "percent": "%",
        "minutes": "min",
    }


def test_the_psi_is_derived_from_the_definitions() -> None:
    """The psi is pound times standard gravity over square inch, right to 6 parts in 10^14."""
    newtons = Fraction("0.45359237") * Fraction("9.80665")
    mbar = newtons / Fraction("0.0254") ** 2 / 100
    ours = Fraction(read_measure("1psi", "pressure").value)
    assert 0 < (mbar - ours) / mbar < Fraction(6, 10**14)


def test_the_mile_is_5280_feet() -> None:
    """A mile is 5280 feet, however it is typed."""
    mile_km = read_measure("1mi", "distance").value
    assert read_measure("5280ft", "length").value == mile_km * 1_000_000


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("65PSI", "pressure"), ("450 kpa", "pressure"), ("20L", "volume"), ("3500 Kg", "mass"),
     ("10FT 1IN", "length"), ("500KOHM", "resistance"), ("2MOhm", "resistance")],
)  # fmt: skip
def test_capitals_and_spaces_do_not_matter(text: str, dimension: str) -> None:
    """A unit in capitals or after a space is plain enough to be read."""
    assert read_measure(text, dimension).typed == text


@pytest.mark.parametrize("unit", ["mohm", "mΩ", "m\N{OHM SIGN}", "mOHM"])
def test_a_milliohm_is_never_a_megohm(unit: str) -> None:
    """A small m before ohm is refused, since it is a thousand million times less."""
    assert refusal(f"500{unit}", "resistance") == (
        f'"500{unit}" ends in "{unit}", which is not read as resistance: {RESISTANCE}'
    )


def test_a_figure_without_a_unit_is_refused() -> None:
    """No unit is guessed: the refusal names those that are read."""
    assert refusal("65", "pressure") == f'"65" has no unit: {PRESSURE}'
    assert refusal("70", "voltage") == '"70" has no unit: type it as in 12.6V'


@pytest.mark.parametrize("dimension", list(BASE_UNITS))
def test_the_examples_in_a_refusal_are_read(dimension: str) -> None:
    """Everything a refusal tells people to type is itself read."""
    examples = refusal("7", dimension).split("type it as in ")[1].replace(" or ", ", ")
    for example in examples.split(", "):
        assert read_measure(example, dimension).typed == example


def test_examples_of_pressure_agree() -> None:
    """The four pressures a refusal shows are one tyre's, to half a per cent."""
    values = [read_measure(text, "pressure").value for text in ("65psi", "4.5bar", "450kPa")]
    assert max(values) / min(values) < Decimal("1.005")


@pytest.mark.parametrize(
    "text",
    ["65mm", "65kPas", "65 psi psi", "65..5psi", "1 000mbar", "6\N{FULLWIDTH DIGIT FIVE}psi"],
)
def test_a_strange_unit_is_refused(text: str) -> None:
    """A unit of another dimension, or none at all, is refused by what was typed."""
    unit = text.lstrip("0123456789").strip()
    assert refusal(text, "pressure") == (
        f'"{text}" ends in "{unit}", which is not read as pressure: {PRESSURE}'
    )


@pytest.mark.parametrize("text", ["3,500mbar", "4,5bar", "65,psi"])
def test_commas_are_refused(text: str) -> None:
    """A comma is refused, since it parts thousands for some and decimals for others."""
    assert refusal(text, "pressure") == (
        f'"{text}" has a comma, which may part thousands or decimals: {PRESSURE}'
    )


@pytest.mark.parametrize("text", ["-65psi", "+65psi", "\N{MINUS SIGN}65psi", "-65"])
@pytest.mark.parametrize("bare", [False, True])
def test_signs_are_refused(text: str, bare: bool) -> None:
    """A sign is refused, with a unit or without."""
    assert refusal(text, "pressure", bare) == (
        f'"{text}" carries a sign, and only figures from 0 up are read: {PRESSURE}'
    )


@pytest.mark.parametrize("text", ["1e3mbar", "1.5E-3bar", "1e3"])
@pytest.mark.parametrize("bare", [False, True])
def test_powers_of_ten_are_refused(text: str, bare: bool) -> None:
    """An exponent is refused: it comes from a spreadsheet and not from a gauge."""
    assert refusal(text, "pressure", bare) == f'"{text}" is in powers of ten: {PRESSURE}'


@pytest.mark.parametrize("text", ["NaN", "NaNpsi", "inf", "psi", "", ".5bar", "about 65psi"])
@pytest.mark.parametrize("bare", [False, True])
def test_what_is_no_figure_is_refused(text: str, bare: bool) -> None:
    """Text that does not begin with a digit is refused."""
    assert refusal(text, "pressure", bare) == (f'"{text}" does not begin with a figure: {PRESSURE}')


@pytest.mark.parametrize("text", ["10ft12in", "10ft 13.5in"])
def test_a_foot_of_inches_beside_feet_is_refused(text: str) -> None:
    """12 inches or more beside feet are a slip of the pen."""
    assert refusal(text, "length") == (
        f'"{text}" has 12 inches or more beside the feet: '
        "carry them into the feet, or type inches alone, as in 121in"
    )


@pytest.mark.parametrize(("text", "unit"), [("10ft1", "ft1"), ("10.5ft1in", "ft1in")])
def test_half_said_feet_and_inches_are_refused(text: str, unit: str) -> None:
    """Inches without their unit, or beside parts of a foot, are refused."""
    assert refusal(text, "length") == (
        f'"{text}" ends in "{unit}", which is not read as length: {LENGTH}'
    )


def test_an_unknown_dimension_is_refused() -> None:
    """A dimension we do not have is refused with those we have."""
    assert refusal("5kg", "weight") == (
        '"weight" is not a dimension: use one of length, mass, pressure, distance, time, '
        "resistance, voltage, temperature, volume, percent, minutes"
    )


def test_bare_takes_the_base_unit_or_the_one_typed() -> None:
    """With `bare` a figure alone is in the base unit, and a unit typed still counts."""
    assert read_measure("48000", "distance", bare=True).value == 48000
    assert read_measure("10mi", "distance", bare=True).value == Decimal("16.09344")


def test_bare_takes_no_strange_unit() -> None:
    """With `bare` a unit that is not of the dimension is still refused."""
    assert refusal("65kg", "pressure", bare=True) == (
        f'"65kg" ends in "kg", which is not read as pressure: {PRESSURE}'
    )


def test_a_figure_read_bare_is_still_refused_when_not() -> None:
    """What was remembered for a column with a unit in its heading is not used elsewhere."""
    read_measure("4321", "pressure", bare=True)
    assert refusal("4321", "pressure") == f'"4321" has no unit: {PRESSURE}'


@given(figure=FIGURES, dimension=st.sampled_from(list(BASE_UNITS)))
def test_digits_are_kept(figure: str, dimension: str) -> None:
    """In its base unit a figure keeps every digit typed, zeros at its end included."""
    text = figure + BASE_UNITS[dimension]
    measure = read_measure(f" {text} ", dimension)
    assert measure.typed == text
    assert measure.value.as_tuple() == Decimal(figure).as_tuple()


@given(figure=FIGURES)
def test_conversions_are_exact(figure: str) -> None:
    """However many digits are typed, none is lost on the way to the base unit."""
    feet = Fraction(read_measure(f"{figure}ft", "length").value)
    assert feet == Fraction(figure) * Fraction("304.8")
    ohms = Fraction(read_measure(f"{figure}ohm", "resistance").value)
    assert ohms == Fraction(figure) / 1_000_000


@given(feet=st.integers(0, 10**40), inches=st.integers(0, 11))
def test_feet_and_inches_are_inches(feet: int, inches: int) -> None:
    """A height in feet and inches is the same height in inches alone."""
    together = read_measure(f"{feet}ft{inches}in", "length").value
    assert together == read_measure(f"{12 * feet + inches}in", "length").value


def test_the_callers_context_changes_nothing() -> None:
    """A caller working in few digits gets the same value."""
    with localcontext() as context:
        context.prec = 2
        assert str(read_measure("98765mi", "distance").value) == "158946.860160"

"""VINs, checked against the examples published with 49 CFR 565.15."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.trade.vin import VinReading, read_vin

ALLOWED = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"


@pytest.mark.parametrize(
    "vin",
    [
        "1G4AH59H45G118341",  # 49 CFR 565.15(c), Table V: sum 411, remainder 4
        "1J9RP1A36A1644345",  # the outline of the VIN rule: sum 314, remainder 6
        "11111111111111111",  # weights add up to 89, remainder 1
    ],
)
def test_the_regulations_examples_pass(vin: str) -> None:
    """A VIN published with a right check digit is read without a caution."""
    assert read_vin(vin) == VinReading(vin, True, True, ())


def test_ten_is_written_as_x() -> None:
    """A remainder of ten is the letter X in place 9."""
    # By hand from all ones, whose sum is 89: a 2 in place 13 (weight 6) and in place 14 (weight
    # 5) and a 0 in place 17 (weight 2) make it 98, which is 8 * 11 + 10.
    assert read_vin("11111111X11122110").check_digit_ok


def test_a_wrong_check_digit_is_a_caution_only() -> None:
    """A van built in Europe may carry any sign in place 9: it is said, and the form is right."""
    assert read_vin("1G4AH59HZ5G118341") == VinReading(
        "1G4AH59HZ5G118341",
        True,
        False,
        (
            '"1G4AH59HZ5G118341" has "Z" in place 9 where 49 CFR 565.15 works out "4": '
            "a European VIN need not carry a check digit, so compare it once with the plate",
        ),
    )


def test_small_letters_and_spaces_are_the_same_vin() -> None:
    """A VIN typed in groups and small letters is kept in capitals without spaces."""
    assert read_vin(" 1g4ah59h 45g118341\n").vin == "1G4AH59H45G118341"


def test_a_wrong_length_is_said() -> None:
    """16 characters are no VIN, and no check digit is worked out for them."""
    assert read_vin("1G4AH59H45G11834") == VinReading(
        "1G4AH59H45G11834",
        False,
        None,
        ('"1G4AH59H45G11834" has 16 characters and a VIN has 17: compare it with the plate',),
    )


@pytest.mark.parametrize("letter", ["I", "O", "Q", "-", "É"])
def test_letters_no_vin_has_are_said(letter: str) -> None:
    """I, O, Q and anything but plain letters and digits are named in the caution."""
    vin = f"1G4AH59H45G11834{letter}"
    assert read_vin(vin) == VinReading(
        vin,
        False,
        None,
        (
            f'"{vin}" holds "{letter}", and a VIN has only digits and capital letters without '
            "I, O and Q: compare it with the plate, "
            "where what looks like one of them is a 1 or a 0",
        ),
    )


def test_both_faults_are_said_at_once() -> None:
    """A short VIN with an O in it gets both cautions, so one look at the plate settles both."""
    assert len(read_vin("WOL").cautions) == 2


def test_a_letter_that_grows_in_capitals_does_not_make_a_vin() -> None:
    """16 characters with a sharp s are not taken for the 17 that "SS" would make of them."""
    assert not read_vin("1g4ah59h45g1183ß").format_ok


@given(text=st.text(max_size=20))
def test_nothing_typed_is_refused(text: str) -> None:
    """Whatever is typed is read, and is either right in form or has a caution."""
    reading = read_vin(text)
    assert reading.format_ok == (reading.check_digit_ok is not None)
    assert bool(reading.cautions) != bool(reading.check_digit_ok)


@given(rest=st.text(ALLOWED, min_size=16, max_size=16))
def test_one_check_digit_fits(rest: str) -> None:
    """For any sixteen other places exactly one sign in place 9 fits, a digit or X."""
    fitting = [sign for sign in ALLOWED if read_vin(rest[:8] + sign + rest[8:]).check_digit_ok]
    assert len(fitting) == 1
    assert fitting[0] in "0123456789X"


@given(
    rest=st.text("0123456789", min_size=16, max_size=16),
    place=st.integers(0, 15),
    other=st.sampled_from("0123456789"),
)
def test_a_slip_in_one_digit_is_caught(rest: str, place: int, other: str) -> None:
    """One digit typed for another always upsets the check digit: 11 is a prime."""
    slipped = rest[:place] + other + rest[place + 1 :]

    def check_digit(places: str) -> str:
        vins = (places[:8] + sign + places[8:] for sign in "0123456789X")
        return next(vin[8] for vin in vins if read_vin(vin).check_digit_ok)

    assert (check_digit(rest) == check_digit(slipped)) == (rest == slipped)

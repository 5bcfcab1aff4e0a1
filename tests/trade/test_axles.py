"""Axle loads by moments, checked against a published example and the law of the lever."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.trade.axles import AxleLoads, moments


def loads(front: str, rear: str, load: str, behind: str, wheelbase: str) -> AxleLoads:
    return moments(
        Decimal(front), Decimal(rear), Decimal(load), Decimal(behind), Decimal(wheelbase)
    )


def bears(front: str, rear: str) -> AxleLoads:
    return AxleLoads(Decimal(front), Decimal(rear))


def kilograms(most: int) -> st.SearchStrategy[Decimal]:
    return st.decimals(0, most, places=3)


def test_the_published_example() -> None:
    """150 kg one metre behind the axle on 1500/2000 and 3 m gives 1450/2200, as published.

    The motorhome press printed 1450.05 and 2199.95, having cut 1000/3000 to 0.333.
    """
    assert loads("1500", "2000", "150", "1000", "3000") == bears("1450", "2200")


def test_a_load_half_a_wheelbase_behind() -> None:
    """75 kg at 1.9 m behind a 3.8 m wheelbase lifts half of itself off the front."""
    assert loads("1550", "1850", "75", "1900", "3800") == bears("1512.5", "1962.5")


def test_a_load_whose_shift_does_not_end() -> None:
    """60 kg at 2.4 m behind 4.035 m shifts 35.68773... kg, taken up to the next gram."""
    assert loads("1500", "2000", "60", "2400", "4035") == bears("1464.312", "2095.688")


def test_a_load_on_the_rear_axle() -> None:
    """A load right over the rear axle rests on it alone."""
    assert loads("1500", "2000", "100", "0", "4000") == bears("1500", "2100")


def test_a_load_on_the_front_axle() -> None:
    """A load one wheelbase ahead of the rear axle rests on the front axle alone."""
    assert loads("1500", "2000", "100", "-4000", "4000") == bears("1600", "2000")


def test_a_load_between_the_axles_is_shared() -> None:
    """A load a quarter of the wheelbase ahead of the rear axle rests three quarters on it."""
    assert loads("1500", "2000", "100", "-1000", "4000") == bears("1525", "2075")


def test_a_front_axle_off_the_ground_is_shown() -> None:
    """A load that would lift the front off the road gives a front load below zero, not 0."""
    assert loads("100", "2000", "1000", "2000", "4000") == bears("-400", "3500")


@pytest.mark.parametrize("wheelbase", ["0", "-3000"])
def test_no_wheelbase_is_refused(wheelbase: str) -> None:
    """A wheelbase of nothing or less is refused in words, not as a division by zero."""
    with pytest.raises(ValueError) as caught:
        loads("1500", "2000", "150", "1000", wheelbase)
    assert str(caught.value) == (
        f'"{wheelbase}" mm is not a wheelbase: '
        "type the distance between the axle centres, which is more than 0"
    )


@pytest.mark.parametrize("place", range(5))
@pytest.mark.parametrize("figure", ["NaN", "Infinity"])
def test_what_is_no_figure_is_refused(place: int, figure: str) -> None:
    """A NaN or an infinity in any place is refused."""
    figures = ["1500", "2000", "150", "1000", "3000"]
    figures[place] = figure
    with pytest.raises(ValueError) as caught:
        loads(*figures)
    assert str(caught.value) == (f'"{figure}" is not a mass or a length: weigh or measure it again')


@given(
    front=kilograms(5000),
    rear=kilograms(5000),
    load=kilograms(1000),
    behind=st.decimals(-6000, 6000, places=1),
    wheelbase=st.decimals(1, 9000, places=1),
)
def test_the_axles_gain_exactly_the_load(
    front: Decimal, rear: Decimal, load: Decimal, behind: Decimal, wheelbase: Decimal
) -> None:
    """Both axles together gain the load to the last digit, the rear within a gram of the lever."""
    after = moments(front, rear, load, behind, wheelbase)
    before = Fraction(front) + Fraction(rear)
    assert Fraction(after.front_kg) + Fraction(after.rear_kg) == before + Fraction(load)
    lever = Fraction(rear) + Fraction(load) * (1 + Fraction(behind) / Fraction(wheelbase))
    assert 0 <= Fraction(after.rear_kg) - lever < Fraction(1, 1000)


def test_the_callers_context_changes_nothing() -> None:
    """A caller working in few digits gets the same loads."""
    with localcontext() as context:
        context.prec = 2
        assert loads("1551.25", "1850", "75", "1900", "3800").front_kg == Decimal("1513.75")

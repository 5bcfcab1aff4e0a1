"""Axle loads by moments, checked against a published example and the law of the lever."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from sympy.physics.continuum_mechanics.beam import Beam

from fleetcare.trade.axles import AxleLoads, Load, moments, reach, read_position


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


def _beam(
    front: int, rear: int, loads: list[tuple[int, int]], wheelbase: int
) -> tuple[Fraction, Fraction]:
    """What the two supports of a beam bear, by sympy: its own way to the same law."""
    x0, x1 = sympy.Symbol("front"), sympy.Symbol("rear")
    beam = Beam(3 * wheelbase, 1, 1)
    beam.bc_deflection = [(0, 0), (wheelbase, 0)]
    beam.apply_load(x0, 0, -1)
    beam.apply_load(x1, wheelbase, -1)
    for kg, behind in loads:
        beam.apply_load(-kg, wheelbase + behind, -1)
    beam.solve_for_reaction_loads(x0, x1)
    found = [
        Fraction(int(r.p), int(r.q)) for r in (beam.reaction_loads[x0], beam.reaction_loads[x1])
    ]
    return front + found[0], rear + found[1]


@settings(max_examples=20)
@given(
    st.integers(2500, 6000),
    st.lists(st.tuples(st.integers(1, 400), st.integers(-2500, 2500)), min_size=1, max_size=4),
)
def test_the_axles_bear_what_a_beam_on_two_supports_does(
    wheelbase: int, loads: list[tuple[int, int]]
) -> None:
    """Loads at known places, against `sympy`'s beams: within the gram that figures are taken to."""
    known = [Load(Decimal(kg), Decimal(at), Decimal(at)) for kg, at in loads]

    front, rear = reach(Decimal(1500), Decimal(1900), known, Decimal(wheelbase))
    beam_front, beam_rear = _beam(1500, 1900, loads, wheelbase)

    for found, true in ((front, beam_front), (rear, beam_rear)):
        assert Fraction(found.least) <= true <= Fraction(found.most)
        assert found.most - found.least <= Decimal("0.001")


@given(
    st.integers(2500, 6000),
    st.lists(
        st.tuples(
            st.integers(-200, 400), st.integers(-2500, 0), st.integers(0, 2500), st.floats(0, 1)
        ),
        max_size=5,
    ),
)
def test_wherever_a_load_lies_within_its_bounds_the_axle_is_within_its_reach(
    wheelbase: int, drawn: list[tuple[int, int, int, float]]
) -> None:
    """Each load put somewhere between its ends, a mass taken off as well as one put on."""
    loads = [Load(Decimal(kg), Decimal(a), Decimal(b)) for kg, a, b, _ in drawn]
    base = (Decimal(1500), Decimal(1900))
    front, rear = reach(*base, loads, Decimal(wheelbase))
    put = [Load(Decimal(kg), *[Decimal(round(a + (b - a) * part))] * 2) for kg, a, b, part in drawn]

    at_front, at_rear = reach(*base, put, Decimal(wheelbase))
    assert front.least <= at_front.least and at_front.most <= front.most
    assert rear.least <= at_rear.least and at_rear.most <= rear.most


@pytest.mark.parametrize(
    ("typed", "behind"),
    [
        ("800mm behind", 800),
        ("1.2m ahead", -1200),
        ("0mm behind", 0),
        ("6ft ahead", Decimal("-1828.8")),
    ],
)
def test_a_place_along_the_van(typed: str, behind: Decimal) -> None:
    """Behind the rear axle counts up, ahead of it down."""
    assert read_position(typed) == behind


@pytest.mark.parametrize("typed", ["800mm", "-800mm", "behind", "800mm beside"])
def test_a_place_without_its_side_is_refused(typed: str) -> None:
    """Which side it is on decides which axle is lifted."""
    with pytest.raises(ValueError, match=r"rear axle|begin with a figure"):
        read_position(typed)


def test_no_wheelbase_no_reach() -> None:
    """Nothing is divided by a wheelbase that is none."""
    with pytest.raises(ValueError, match='"0" mm is not a wheelbase'):
        reach(Decimal(1), Decimal(1), [], Decimal(0))

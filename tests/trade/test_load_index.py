"""The load index and speed symbol tables, checked against published values and their own law."""

from decimal import ROUND_FLOOR, Decimal

import pytest

from fleetcare.trade.load_index import LoadIndex, grade, load_kg, read_load_index, speed_kmh


@pytest.mark.parametrize(
    ("index", "kg"),
    [
        # Published on tyre makers' and dealers' lists of the R54 Annex 4 figures.
        (84, 500), (91, 615), (94, 670), (100, 800), (109, 1030), (112, 1120), (113, 1150),
        (116, 1250), (118, 1320), (121, 1450), (124, 1600),
        # Printed in an operator's manual for heavy tyres.
        (142, 2650), (165, 5150), (168, 5600),
    ],
)  # fmt: skip
def test_published_values(index: int, kg: int) -> None:
    """A load index carries the mass published for it."""
    assert load_kg(index) == kg


def test_the_known_misprints_are_not_copied() -> None:
    """53 is 206 kg and 62 is 265 kg, where one public table prints 205 and 165."""
    assert [load_kg(53), load_kg(62)] == [Decimal(206), Decimal(265)]


def test_small_indices_keep_their_decimal() -> None:
    """Index 1 is 46.2 kg exactly."""
    assert load_kg(1) == Decimal("46.2")


@pytest.mark.parametrize("index", range(121))
def test_the_decade_rule(index: int) -> None:
    """Each index carries a tenth of the one 80 above, cut to whole kg from 100 up."""
    tenth = load_kg(index + 80) / 10
    if tenth >= 100:
        tenth = tenth.to_integral_value(ROUND_FLOOR)
    assert load_kg(index) == tenth


def test_the_table_has_every_index_and_rises() -> None:
    """0 to 200 are all there, and a higher index always carries more."""
    loads = [load_kg(index) for index in range(201)]
    assert loads == sorted(set(loads))


@pytest.mark.parametrize("index", range(201))
def test_the_table_stays_near_its_series(index: int) -> None:
    """No row is further than 2 % from 45 x 10^(n/80), the preferred numbers R80 behind it."""
    assert float(load_kg(index)) == pytest.approx(45 * 10 ** (index / 80), rel=0.02)


@pytest.mark.parametrize(
    ("index", "status"),
    [
        (0, "verified-one-transcription"),
        (19, "verified-one-transcription"),
        (20, "verified-two-or-more-transcriptions"),
        (160, "verified-two-or-more-transcriptions"),
        (161, "verified-one-transcription"),
        (180, "verified-one-transcription"),
        (181, "memory-decade-rule"),
        (200, "memory-decade-rule"),
    ],
)
def test_each_row_says_how_it_was_seen(index: int, status: str) -> None:
    """The grade of a row is kept beside it, at both ends of each stretch."""
    assert grade(index) == status


@pytest.mark.parametrize("index", [-1, 201])
def test_an_index_outside_the_table_is_refused(index: int) -> None:
    """No load is worked out for an index the table lacks."""
    message = (
        f'"{index}" is not a load index: the table runs from 0 to 200, so read the sidewall again'
    )
    for ask in (load_kg, grade):
        with pytest.raises(ValueError) as caught:
            ask(index)
        assert str(caught.value) == message


def test_a_single_index_is_read() -> None:
    """A lone "112" states a single index and no dual one."""
    assert read_load_index("112") == LoadIndex(single=112, dual=None)


def test_a_dual_index_is_read() -> None:
    """A tyre marked "112/110" carries 1120 kg singly and 1060 kg as a twin."""
    found = read_load_index(" 112/110 ")
    assert found == LoadIndex(single=112, dual=110)
    assert found.dual is not None
    assert load_kg(found.single) == 1120
    assert load_kg(found.dual) == 1060


@pytest.mark.parametrize("text", ["", "112R", "112/110R", "112/", "/110", "112-110", "-1", "١١٢"])
def test_what_is_no_load_index_is_refused(text: str) -> None:
    """Anything but one or two plain figures is refused, with what to type."""
    with pytest.raises(ValueError) as caught:
        read_load_index(text)
    assert str(caught.value) == (
        f'"{text}" is not a load index: type it without the speed symbol, as in "112" or, '
        'with the figure for twin wheels, "112/110"'
    )


@pytest.mark.parametrize("text", ["201", "201/110", "112/201"])
def test_either_figure_outside_the_table_is_refused(text: str) -> None:
    """Both figures must be in the table, not only the first."""
    with pytest.raises(ValueError) as caught:
        read_load_index(text)
    assert str(caught.value) == (
        '"201" is not a load index: the table runs from 0 to 200, so read the sidewall again'
    )


def test_h_lies_between_u_and_v() -> None:
    """The symbol H is 210 km/h, out of the alphabet's order, as UNECE R30 has it."""
    assert speed_kmh("U") == 200 < speed_kmh("H") == 210 < speed_kmh("V") == 240


@pytest.mark.parametrize(
    ("symbol", "kmh"),
    [("A1", 5), ("N", 140), ("Q", 160), ("R", 170), ("T", 190), ("Y", 300), (" r ", 170)],
)
def test_published_speeds(symbol: str, kmh: int) -> None:
    """A speed symbol stands for its published speed, typed in capitals or not."""
    assert speed_kmh(symbol) == kmh


@pytest.mark.parametrize("symbol", ["I", "O", "ZR", "(Y)", ""])
def test_an_unknown_speed_symbol_is_refused(symbol: str) -> None:
    """A letter that is no symbol, or names no top speed, is refused with those that do."""
    with pytest.raises(ValueError) as caught:
        speed_kmh(symbol)
    assert str(caught.value) == (
        f'"{symbol}" is not a speed symbol: type the letter that follows the load index on the '
        "sidewall, one of A1, A2, A3, A4, A5, A6, A7, A8, B, C, D, E, F, G, "
        "J, K, L, M, N, P, Q, R, S, T, U, H, V, W, Y"
    )

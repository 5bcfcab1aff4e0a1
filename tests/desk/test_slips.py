"""Slips of the pen that are asked back: figures no motorhome has, a certificate twice, a check nobody
asks for. Each is recorded when somebody says that it is true."""

from __future__ import annotations

import datetime as dt

import click
import pytest

from tests.typed import refused, typed, typed_all

D = dt.date.fromisoformat
ON = D("2026-08-01")
ANYWAY = '\nIf it is true, add: --even-so "why"'

SLIPS = [
    (
        'record V01 tyres --by X --reading "tread:front-left=52mm"',
        '--reading "tread=52mm": 52mm is none of a motorhome\'s: 0mm to 20mm is usual',
    ),
    (
        "record V01 tyres --by X --reading pressure:front-left=6.5psi",
        '--reading "pressure=6.5psi": 6.5psi is none of a motorhome\'s: 15psi to 110psi is usual',
    ),
    (
        "van change V01 --on 2026-07-01 --height 305mm",
        "--height: 305mm is none of a motorhome's: 1900mm to 4200mm is usual",
    ),
    (
        "van change V01 --on 2026-07-01 --max-mass 350kg",
        "--max-mass: 350kg is none of a motorhome's: 1500kg to 12000kg is usual",
    ),
    (
        "fit V01 tyre front-left --made 0524 --cold-pressure 650psi",
        "--cold-pressure: 650psi is none of a motorhome's: 15psi to 110psi is usual",
    ),
    (
        "record V01 insurance --from 2026-08-01 --last-day 2128-07-31",
        "--last-day: 2128-07-31 is more than a paper from 2026-08-01 can give: 60 "
        "months less a day is 2031-07-31",
    ),
    (
        'record V01 gas-safety --pass --by "A. Fitter" --certificate G1',
        '--certificate: "G1" is the certificate of #21 of 2025-08-10 already',
    ),
    (
        "record V01 electrical --pass --by X",
        "check: electrical inspection: no rule asks for it of V01 as it was said to be (mains hook-up)",
    ),
    (
        "van add v01 --jurisdiction gb",
        'fleet number: "V01" is in the fleet already',
    ),
    (
        "van change V01 --on 2026-07-01 --max-mass 3850kg --front-axle-mass 1850kg --rear-axle-mass 1900kg",
        "--max-mass: 3850kg is more than the axles together: 3750 kg",
    ),
    (
        "van change V01 --on 2026-07-01 --running-order-mass 3500kg",
        "--running-order-mass: 3500kg leaves nothing to load of 3500kg",
    ),
]


@pytest.mark.parametrize(("line", "words"), SLIPS)
def test_a_slip_is_asked_back_and_the_truth_is_recorded(good: str, line: str, words: str) -> None:
    """Refused with what it looks like; with why it is true it is written down."""
    said = refused(good, line)

    assert words in said
    assert said.endswith('add: --even-so "why"')
    assert "#" in typed(good, f'{line} --even-so "it is so"', ON)


def test_a_booking_changed_to_days_that_are_over_says_why(good: str) -> None:
    """Where it stays and where it moves; with words that say why it is written down."""
    add = "--jurisdiction gb --in-service-from 2026-01-01"
    typed_all(
        good, [f"van add V02 {add}", "hire add V01 --from 2026-07-30 --through 2026-08-03 --ref H1"], ON
    )  # fmt: skip
    for line in (
        "hire change H1 --through 2026-07-31",
        "hire change H1 --through 2026-07-31 --van V02",
    ):
        assert refused(good, line) == (
            "--through: 2026-07-31 is over: today is 2026-08-01. If it is so, say why in words"
        )

    shown = typed(good, 'hire change H1 --through 2026-07-31 "left a day early"', ON)
    assert "through Fri 31 Jul 2026, was Mon 3 Aug 2026" in shown


def test_an_odometer_does_not_leap(good: str) -> None:
    """1,500 km a day is what two drivers can do; one more is asked back."""
    typed(good, "odometer V01 10000km --on 2026-07-01", ON)

    assert refused(good, "odometer V01 11501km --on 2026-07-02") == (
        "--odometer: 11501km is over 1500 km a day more than 10000km on 2026-07-01" + ANYWAY
    )
    typed(good, "odometer V01 11500km --on 2026-07-02", ON)


def test_words_have_an_end_and_go_one_way(good: str) -> None:
    """No text is without bounds, and none is read otherwise than it is kept."""
    long = "x" * 2001

    assert refused(good, f'defect report V01 --grade minor "{long}"') == (
        "words: has 2001 characters: 2000 are the most"
    )
    assert refused(good, f'record V01 water --pass --by "{"n" * 81}"') == (
        "--by: has 81 characters: 80 are the most"
    )
    assert refused(good, 'defect report V01 --grade minor "step \u202eesool"') == (
        "words: has a character that turns the writing round: type it without"
    )


def test_figures_that_contradict_a_pass_are_asked_back(good: str) -> None:
    """A gas test passed with 12 mbar of 150 lost; recorded all the same, nobody can say."""
    line = (
        'record V01 tightness --pass --by "A. Fitter" --reading tightness-start=150mbar '
        "--reading tightness-drop=12mbar --reading tightness-settled=5min "
        "--reading tightness-minutes=5min"
    )
    today = D("2026-11-23")

    assert refused(good, line, today) == (
        '--reading "tightness-drop=12mbar": must be at most one part in 15 of 150mbar' + ANYWAY
    )
    typed_all(good, [f'{line} --even-so "as on the sheet"'], today)
    assert "cannot say" in typed(good, "why V01 gas-tightness", today)


def test_nothing_rewrites_last_year_by_silence(good: str) -> None:
    """A fact that was said from the beginning is said otherwise from a day on, or even so."""
    words = (
        "--max-mass: 3850kg would stand from the van's beginning, where 3500kg was said (#6): say "
        "from which day with --on\n"
        'If it is true, add: --even-so "why"'
    )

    assert refused(good, "van change V01 --max-mass 3850kg").endswith(words)
    mains = refused(good, "van change V01 --mains")
    assert mains.startswith("--mains: yes would stand from the van's beginning, where no was said")
    typed(good, "van change V01 --max-mass 3500kg --berths 4", dt.date(2026, 8, 1))
    typed(good, "van change V01 --max-mass 3300kg --on 2026-08-01", dt.date(2026, 8, 1))


def test_a_check_ends_in_one_way(good: str) -> None:
    """A pass typed with a fail was whichever came last."""
    for ways in ("--pass --fail", "--fail --pass", "--pass --seen"):
        first = [word for word in ("pass", "fail", "seen") if word in ways]
        with pytest.raises(click.UsageError) as fault:
            typed(good, f"record V01 chassis {ways} --by C", dt.date(2026, 8, 1))
        assert fault.value.message == f"it ended in one way: --{first[0]} or --{first[1]}, not both"

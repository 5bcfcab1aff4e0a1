"""Ways by which a no could become a yes: each is asked of a whole book, as somebody at the counter
asks it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fleetcare import clock
from fleetcare.desk import calls, keep, questions
from fleetcare.reports.hire import HireReport
from fleetcare.rules.party import NO_BIKES, Party
from tests.typed import loaded, not_loaded, refused, typed, typed_all
from tests.vans import GOOD, TREAD

D = dt.date.fromisoformat
ON = D("2026-08-01")
WALK = f'record V01 walkaround --pass --by "W. Yard" {TREAD}'


def _asked(place: str, van: str = "V01", party: Party = NO_BIKES, on: dt.date = ON) -> HireReport:
    return questions.hireable(place, van, calls.Question(on, on, party, on, None))


def _against(report: HireReport) -> tuple[str, list[tuple[str, str | None, str]]]:
    return report.hireable, [(b.rule, b.place, b.reason) for b in report.blocking]


# --- readings ---------------------------------------------------------------------------------------


def test_one_place_is_read_once_in_a_loaded_check(good: str, tmp_path: Path) -> None:
    """A bald tyre is not made good by a second reading of it in the same check."""
    tread = [{"what": "tread", "place": "front-left", "figure": f} for f in ("1.0mm", "6mm")]
    check = {"kind": "check", "van": "V01", "what": "walkaround", "on": "2026-08-01",
             "outcome": "pass", "by": "B. Smith"}  # fmt: skip

    assert not_loaded(good, tmp_path, check | {"readings": tread}) == (
        '1 readings "tread:front-left=6mm": is given twice'
    )
    loaded(good, tmp_path, check | {"readings": tread[:1]})
    assert _against(_asked(good))[0] == "no"


# --- checks -----------------------------------------------------------------------------------------

# In good order and too young for any check: its papers are the fleet's, and nothing is recorded.
YOUNG = """
van add V01 --plate "QI26 QIQ" --jurisdiction gb --test-class motor-caravan --first-registered 2026-03-01 --in-service-from 2026-03-01 --max-mass 3500kg --front-axle-mass 1850kg --rear-axle-mass 2000kg --height 2900mm --axles single --spare none --no-lpg --no-mains --no-rack --no-gas-alarm
fit V01 tyre front-left --made 0526 --on 2026-03-01 --load-index 112 --cold-pressure 65psi
fit V01 tyre front-right --made 0526 --on 2026-03-01 --load-index 112 --cold-pressure 65psi
fit V01 tyre rear-left --made 0526 --on 2026-03-01 --load-index 112 --cold-pressure 65psi
fit V01 tyre rear-right --made 0526 --on 2026-03-01 --load-index 112 --cold-pressure 65psi
fit V01 smoke-alarm --made 2026-01 --on 2026-03-01
fit V01 co-alarm --made 2026-01 --on 2026-03-01
fit V01 extinguisher --made 2026-01 --type powder --on 2026-03-01
fit V01 fire-blanket --on 2026-03-01
record fleet insurance --from 2026-03-01 --last-day 2027-02-28
record fleet tax --from 2026-03-01 --last-day 2027-02-28
"""


@pytest.mark.parametrize(
    ("line", "rule", "place", "who"),
    [
        ("mot --certificate M1", "roadworthiness-test", None, "certificate M1"),
        ("habitation --by X", "habitation-service", None, "X"),
        ("chassis --by X", "chassis-service", None, "X"),
        ("brake-fluid --by X", "brake-fluid", None, "X"),
        ("extinguisher-basic --by X", "extinguisher-service", "door", "X"),
    ],
)
def test_a_fail_stops_a_van_on_which_nothing_was_due_yet(
    ready: str, line: str, rule: str, place: str | None, who: str
) -> None:
    """The only check there is failed, before its first one was due: the fail stands all the same."""
    typed_all(ready, YOUNG, ON)
    assert _against(_asked(ready)) == ("yes", [])
    typed(ready, f"record V01 {line} --fail", ON)

    assert _against(_asked(ready)) == (
        "no",
        [(rule, place, f"failed Sat 1 Aug 2026 (#13, {who})")],
    )


def test_an_extinguisher_whose_mark_cannot_be_read_is_not_taken_for_new(
    good: str, tmp_path: Path
) -> None:
    """Commissioned on a day nobody can read, it is in doubt however young its maker's mark is."""
    fit = "fit V01 extinguisher --type powder --made 2026-01 --commissioned"
    typed(good, f"{fit} illegible", ON)
    report = _asked(good)

    assert (report.hireable, [(b.rule, b.standing) for b in report.blocking]) == (
        "cannot say",
        [
            ("extinguisher-service", "cannot say"),
            ("extinguisher-extended-service", "cannot say"),
            ("extinguisher-age", "cannot say"),
        ],
    )
    assert refused(good, f"{fit} smudged") == (
        '--commissioned: "smudged" is not a date as marked: type a day like 2020-06-12, a month like '
        "2020-06, a year like 2020, or illegible"
    )


# --- tyres, racks and axles -------------------------------------------------------------------------


def _why(place: str, rule: str, on: dt.date = ON) -> list[tuple[str | None, str, str]]:
    return [(w.place, w.standing, w.reason) for w in questions.why_rule(place, "V01", rule, on)]


def test_a_tyre_taken_off_is_lacking_whatever_its_axle_bears(ready: str) -> None:
    """Where nobody said the axle's mass, an empty place is no doubt: it is a no."""
    typed_all(ready, GOOD.replace("--rear-axle-mass 2000kg ", ""), ON)
    front = ("front axle", "in date", "tyres carry 2240 kg, the weight plate says 1850 kg")
    unsaid = ("rear axle", "cannot say", "rear axle mass on the weight plate not said")

    assert _why(ready, "tyre-load") == [front, unsaid]
    typed_all(ready, ["take-off V01 tyre rear-left --on 2026-07-30"], ON)
    assert _why(ready, "tyre-load", D("2026-07-29")) == [front, unsaid]
    assert _why(ready, "tyre-load", D("2026-07-30")) == [
        front,
        ("rear axle", "no record", "nothing recorded at rear-left"),
    ]


@pytest.mark.parametrize(
    ("day", "cautions"),
    [
        ("2026-03-06", ()),
        ("2026-03-07", ("tyre age front-left: ageing, made 1021, fitted Thu 1 Jan 2026 (#31)",)),
    ],
)
def test_a_tyre_past_five_years_is_told_as_ageing(
    good: str, day: str, cautions: tuple[str, ...]
) -> None:
    """From its fifth birthday on, and not before, the counter hears of it; it may still go out."""
    typed(
        good,
        "fit V01 tyre front-left --made 1021 --on 2026-01-01 --load-index 112 --cold-pressure 45psi",
        ON,
    )
    report = _asked(good, on=D(day))

    assert tuple(c for c in report.cautions if c.startswith("tyre age")) == cautions
    assert [b.rule for b in report.blocking if b.place == "front-left"] == []


FULL = "the rack takes 4 bikes or 2 e-bikes (#20)"


@pytest.mark.parametrize(
    ("party", "reason"),
    [
        (Party(4), None),
        (Party(0, 2), None),
        (Party(2, 1), None),
        (Party(5), FULL),
        (Party(0, 3), FULL),
        (Party(3, 1), FULL),
        (Party(4, 0, ("15", "15", "15", "15")), None),
        (
            Party(4, 0, ("15", "15", "15", "15.001")),
            "bikes weigh 60.001 kg, the rack is rated 60 kg",
        ),
        (Party(2, 1, ("15.001",)), "bikes weigh 60.001 kg, the rack is rated 60 kg"),
    ],
)
def test_a_rack_bears_what_it_is_rated_and_not_a_gram_more(
    good: str, party: Party, reason: str | None
) -> None:
    """Full by its places or by its rating it goes out; one bike or one gram over it does not."""
    answer = ("no", [("rack-rating", "rear", reason)]) if reason else ("yes", [])

    assert _against(_asked(good, party=party)) == answer


def test_an_axle_bears_what_its_tyres_carry_and_not_a_kilogram_more(good: str) -> None:
    """Two tyres of 1000 kg under 2000 kg go out; under 2001 kg they do not."""
    mark = "--made 0524 --on 2026-07-02 --load-index 108 --cold-pressure 65psi"
    typed_all(good, [f"fit V01 tyre rear-{side} {mark}" for side in ("left", "right")], ON)

    assert _against(_asked(good)) == ("yes", [])
    typed(good, "van change V01 --rear-axle-mass 2001kg --even-so plated", ON)
    assert _against(_asked(good)) == (
        "no",
        [("tyre-load", "rear axle", "tyres carry 2000 kg, the weight plate says 2001 kg")],
    )


@pytest.mark.parametrize("heavy", ["V01", "V02"])
def test_two_vans_on_the_same_tyres_are_judged_by_their_own_axles(ready: str, heavy: str) -> None:
    """What was worked out for one is not said of the other, whichever is asked first."""
    lines = GOOD.strip().splitlines()
    second = [
        one.replace("V01", "V02").replace("QI24 QIQ", "QI25 QIQ").replace("certificate G1", "certificate G2")
        for one in lines
        if "V01" in one
    ]  # fmt: skip
    made = [
        one.replace("--rear-axle-mass 2000kg", "--rear-axle-mass 2300kg")
        if one.startswith(f"van add {heavy}")
        else one
        for one in (*lines, *second)
    ]
    typed_all(ready, made, ON)
    wrong = "tyres carry 2240 kg, the weight plate says 2300 kg"
    found = {van: _against(_asked(ready, van)) for van in ("V01", "V02")}
    due = [
        (i.van, i.place, i.reason)
        for i in questions.due(ready, ON, 600).items
        if i.rule == "tyre-load"
    ]

    assert found.pop(heavy) == ("no", [("tyre-load", "rear axle", wrong)])
    assert list(found.values()) == [("yes", [])]
    assert due == [(heavy, "rear axle", wrong)]


# --- recalls and the past ---------------------------------------------------------------------------


@pytest.mark.parametrize(("done", "left"), [(30, "#31"), (31, "#30")])
def test_a_recall_done_closes_that_recall_alone(good: str, done: int, left: str) -> None:
    """The dealer's paper of one recall is none of the other."""
    typed_all(
        good,
        [
            'recall V01 R-1 --stop-use "belt"',
            'recall V01 R-2 --stop-use "belt"',
            f"recall done {done} --by Dealer --certificate D1",
        ],
        ON,
    )
    number = "R-1" if left == "#30" else "R-2"

    assert _against(_asked(good)) == (
        "no",
        [("recall", left, f"recall {number}: belt ({left}), not to be used")],
    )


def test_days_past_stand_under_the_rules_of_those_days(tmp_path: Path) -> None:
    """1.2 mm was lawful until the end of 1991; an inspection of 2007 lasted three years until
    July 2008; an early gas check keeps its anniversary since April 2018, older ones too."""
    place = str(tmp_path / "past.db")
    with clock.standing_at(dt.datetime(1990, 1, 1, 9, tzinfo=dt.UTC)):
        keep.init(place, "Test")
    gas = 'record V01 gas-safety --pass --by "A. Fitter" --certificate'
    typed_all(
        place,
        [
            'inspector add "A. Fitter" --scope lpg-leisure-vehicle --register-no 12345 --from 1990-01-01',
            "inspector add B --scope electrical --from 1990-01-01",
            "van add V01 --jurisdiction gb --first-registered 1990-03-01 --in-service-from 1990-03-01 "
            "--lpg --mains --axles single --spare none --appliance none",
            "fit V01 tyre front-left --on 1990-03-01",
            "record V01 tyres --on 1991-06-01 --pass --by B --reading tread:front-left=1.2mm",
            "record V01 electrical --on 2007-03-10 --pass --by B",
            *(f"{gas} G{n} --on {day}" for n, day in enumerate(
                ("2017-04-10", "2018-03-10", "2020-05-01", "2021-04-01"))),
        ],
        ON,
    )  # fmt: skip

    def stood(rule: str, day: str) -> tuple[str, dt.date | None, str]:
        found = questions.why_rule(place, "V01", rule, D(day))[0]
        return found.standing, found.last_good_day, found.terms

    before, since = (
        "from Mon 11 Aug 1986: tread at least 1.0mm",
        "from Wed 1 Jan 1992: tread at least 1.6mm",
    )
    eve = D("1991-12-31")
    assert stood("tyre-tread", "1991-06-01") == ("in date", eve, before)
    assert stood("tyre-tread", "1991-12-31") == ("in date", eve, before)
    assert stood("tyre-tread", "1992-01-01") == ("failed", eve, since)
    old, new = ("months 36, ends anniversary", "months 12, ends anniversary")
    last = D("2008-06-30")
    assert stood("eicr", "2008-06-30") == ("in date", last, f"from Wed 1 Jan 1992: {old}")
    assert stood("eicr", "2008-07-01") == ("overdue", last, f"from Tue 1 Jul 2008: {new}")
    kept = ("in date", D("2019-04-10"))  # a month early, and before the change: on its deadline
    assert [stood("gas-safety", f"2018-04-0{n}")[:2] for n in (5, 6)] == [kept, kept]
    assert stood("gas-safety", "2021-04-01")[:2] == ("in date", D("2022-05-01"))

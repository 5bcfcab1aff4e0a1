"""Records in odd orders, by slips and by corrections: none of them lets a van out in doubt."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click import UsageError

from fleetcare.desk import calls, questions
from fleetcare.errors import Declined
from fleetcare.rules.party import NO_BIKES
from tests.desk.test_sheets import fill
from tests.typed import refused, typed, typed_all
from tests.vans import TREAD, WAIVES

D = dt.date.fromisoformat
ON = D("2026-08-01")
WALK = f'record V01 walkaround --pass --by "W. Yard" {TREAD}'
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1"


def _type(place: str, *lines: str, day: str = "2026-08-01") -> str:
    return typed_all(place, list(lines), D(day))


def _hireable(place: str, start: str = "2026-08-01", through: str = "2026-08-03") -> str:
    question = calls.Question(D(start), D(through), NO_BIKES, D(start))
    return questions.hireable(place, "V01", question).hireable


def test_a_time_is_said_of_both_or_of_none(good: str) -> None:
    """Without a time what is done stands before what has one: a blanket taken off would be taken to
    hang there still, a tyre of 2005 not to be there."""
    _type(good, "fit V01 fire-blanket --on 2026-08-01 --at 09:00")

    assert refused(good, "take-off V01 fire-blanket") == (
        "--at: #31 was done there at 09:00 that day: say the time of both"
    )
    assert refused(good, "fit V01 fire-blanket") == (
        "--at: #31 was done there at 09:00 that day: say the time of both"
    )
    assert "took off" in _type(good, "take-off V01 fire-blanket --at 10:00")
    assert _hireable(good) == "no"


def test_what_was_signed_or_fitted_after_it_left_released_nothing(good: str) -> None:
    """A release at ten is not helped by a signature at noon or a blanket hung at three."""
    _type(good, WALK, H1)
    _type(good, 'defect report V01 --grade dangerous "brake" --at 08:30')
    _type(good, 'defect repair 33 --by "B. Smith"', 'defect sign-off 33 --by "C. Jones" --at 12:00')
    _type(
        good,
        "take-off V01 first-aid-kit --at 08:00",
        "fit V01 first-aid-kit --replace-by 2029-01 --at 15:00",
    )
    with pytest.raises(Declined) as no:
        typed(good, "hire out H1 --by W --odometer 1000mi --at 10:00", ON)

    assert "defect #33: failed" in no.value.answer
    assert "first-aid kit" in no.value.answer
    assert "released" in _type(good, "hire out H1 --by W --odometer 1000mi --at 16:00")


def _out(place: str) -> None:
    _type(place, WALK, H1, "hire out H1 --by W --odometer 1000mi --at 09:00")
    _type(place, 'defect report V01 --grade dangerous "brake hose" --on 2026-08-01 --at 12:00')


def test_a_signature_before_a_temporary_repair_is_none_for_good(good: str) -> None:
    """Signed first and mended on the road afterwards: the van stops when it is back."""
    _out(good)
    _type(
        good, 'defect sign-off 34 --by "C. Jones" "looked at by phone"',
        'defect repair 34 --temporary --by "roadside"', "hire back H1 --odometer 1100mi --at 18:00",
    )  # fmt: skip

    assert _hireable(good, "2026-08-05", "2026-08-07") == "no"


def test_the_repair_under_a_signature_stays_before_it(good: str) -> None:
    """It is neither moved after the signature nor taken back: the signature stands on it."""
    _type(good, 'defect report V01 --grade dangerous "brake"', 'defect repair 30 --by "B. Smith"')
    _type(good, 'defect sign-off 30 --by "C. Jones"', day="2026-08-02")
    later = refused(good, 'correct 31 --on 2026-08-03 "a slip"', D("2026-08-03"))
    never = refused(good, 'withdraw 31 "a slip"', D("2026-08-03"))

    assert (
        later
        == never
        == (
            "#32 stands on it: #30 is dangerous and no repair of it is recorded. Record it with: "
            "fleetcare defect repair 30 --by NAME. Where there was no fault, say so in words"
        )
    )


def test_a_hold_or_a_recall_is_not_moved_behind_what_ended_it(good: str) -> None:
    """A lift before its hold, a paper before its recall: refused when typed, and by a correction."""
    _type(
        good, 'hold V01 --from 2026-07-20 "x"', 'hold lift 30 --by C --on 2026-07-25',
        'recall V01 R-1 --stop-use --on 2026-07-20 "belt"',
        "recall done 32 --by F --certificate W1 --on 2026-07-22",
    )  # fmt: skip

    assert refused(good, 'correct 30 --from 2026-07-28 "x"') == (
        "#31 stands on it: 2026-07-25 is before the hold began (2026-07-28)"
    )
    assert refused(good, 'correct 32 --on 2026-07-28 "x"') == (
        "#33 stands on it: 2026-07-22 is before the recall (2026-07-28)"
    )


def test_a_check_put_right_to_a_fail_stops_the_van(good: str) -> None:
    """A fail that no rule reads opens a defect, typed or corrected; an appliance sealed off too."""
    _type(good, 'record V01 damp --pass --by "B. Smith"')
    shown = _type(good, 'correct 30 --outcome fail "misread the sheet"')

    assert '#33 major: "damp check failed".' in shown
    assert _hireable(good) == "no"


def test_of_readings_with_and_without_a_time_the_bad_one_stands(good: str) -> None:
    """Nobody knows which was read last: 6 mm at ten and 1.0 mm at no time is 1.0 mm."""
    _type(
        good, 'record V01 tyres --at 10:00 --by "B. Smith" --reading tread:front-left=6mm',
        'record V01 tyres --by "B. Smith" --reading tread:front-left=1.0mm',
    )  # fmt: skip
    assert _hireable(good) == "no"

    _type(good, 'record V01 tyres --at 11:00 --by "B. Smith" --reading tread:front-left=6mm')
    assert _hireable(good) == "no"
    _type(good, 'correct 31 --at 09:00 "read before the others"')
    assert _hireable(good) == "yes"


def test_a_bad_word_of_no_time_is_of_whatever_hung_there_that_day(good: str) -> None:
    """A service failed without a time on the day of a new extinguisher may be of either; so may a
    tyre read at 1.0 mm."""
    _type(
        good, "fit V01 extinguisher --made 2026-01 --type powder --on 2026-07-30 --at 09:00",
        'record V01 extinguisher-basic --on 2026-07-30 --at 10:00 --pass --by "E. Tester"',
    )  # fmt: skip
    assert _hireable(good) == "yes"
    _type(good, 'record V01 extinguisher-basic --on 2026-07-30 --fail --by "E. Tester"')
    assert _hireable(good) == "no"


def test_a_tyre_read_bad_on_the_day_it_came(good: str) -> None:
    """1.0 mm read at no time on the day of a timed fit stops the new tyre as well."""
    _type(
        good, "fit V01 tyre front-left --made 0526 --load-index 112 --speed-symbol R --cold-pressure 65psi --at 09:00",
        'record V01 wheel-nuts --at 09:30 --pass --by "B. Smith"',
        'record V01 wheel-nuts-again --at 10:05 --pass --by "B. Smith" --reading nuts-stood=35min',
    )  # fmt: skip
    assert _hireable(good) == "yes"
    _type(good, 'record V01 tyres --by "B. Smith" --reading tread:front-left=1.0mm')
    assert _hireable(good) == "no"


def test_a_waiver_does_not_outlive_what_was_waived(good: str, tmp_path: Path) -> None:
    """Waived as it stood: standing idle put right to something else asks anew."""
    firm = WAIVES.replace('events = ["scrape"]', 'events = ["scrape", "knock"]')
    (tmp_path / "firm.toml").write_text(firm)
    _type(good, f"rules adopt {tmp_path}/firm.toml", H1, "event V01 scrape --on 2026-08-01")
    assert "stops" in _type(good, "due") or _hireable(good) == "no"
    _type(good, 'hire waive H1 scrape "a scratch" --by "C. Jones"')
    assert (
        questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, ON, "H1")).hireable
        == "yes"
    )
    _type(good, 'correct 33 --what knock "it was worse"')
    assert (
        questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, ON, "H1")).hireable
        == "no"
    )


def test_a_filled_sheet_is_held_to_what_a_typed_check_is(good: str, tmp_path: Path) -> None:
    """A walkaround signed on a day before there was a van is asked back, from a sheet as typed."""
    _type(good, H1, f"handover V01 H1 --sheet {tmp_path}/h.txt")
    (tmp_path / "f.txt").write_text(fill((tmp_path / "h.txt").read_text("utf-8")), "utf-8")
    take_in = f"handover V01 H1 --from-file {tmp_path}/f.txt --by W --on 2005-01-01"
    said = "2005-01-01 is over a year before the van was first registered (2024-05-01)"

    assert refused(good, take_in) == f'--on: {said}\nIf it is true, add: --even-so "why"'
    assert said in refused(good, f"{WALK} --on 2005-01-01")
    assert "passed Sat 1 Jan 2005" in _type(good, f'{take_in} --even-so "typed from an old sheet"')


@pytest.mark.parametrize("moment", ["0001-01-01T00:00+23:59", "9999-12-31T23:59-23:59"])
def test_a_moment_past_the_calendar_is_no_moment(good: str, moment: str) -> None:
    """What can't be said in UTC is refused where it is typed."""
    with pytest.raises(UsageError, match="is neither a size like @4812 nor a moment"):
        typed(good, f"due --known-at {moment}", ON)


@pytest.mark.parametrize("command", ["rules check FILE", "sheet read Fleet.csv --map FILE"])
@pytest.mark.parametrize(
    "text",
    [
        f"x = {'[' * 5000}{']' * 5000}",
        f"x = {'9' * 5000}",
        f"x = 0x{'F' * 6000}",  # read, and too long to be told
        f"[rule.x]\ntitle = 0x{'F' * 6000}",
    ],
    ids=["nested", "counted", "in-hex", "deep-in-hex"],
)
def test_a_firms_file_past_all_depth_is_refused(
    good: str, tmp_path: Path, command: str, text: str
) -> None:
    """Nested or counted past what is read, with the file named, rules or mapping."""
    file = tmp_path / "firm.toml"
    file.write_text(text)
    (tmp_path / "Fleet.csv").write_text("Fleet no\nV02\n")
    line = command.replace("FILE", str(file)).replace("Fleet.csv", f"{tmp_path}/Fleet.csv")
    assert refused(good, line) == (
        f"{file}: nests deeper or counts further than anything here is read: look what it is"
    )

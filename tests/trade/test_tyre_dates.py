"""Tyre date codes, checked against the regulation's own example and Python's two week counts."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.trade.tyre_dates import WeekReading, code_of, read_tyre_code

TODAY = date(2026, 11, 25)
DAYS = st.dates(date(2000, 1, 2), date(2150, 12, 31))


def refusal(code: str, today: date = TODAY) -> str:
    with pytest.raises(ValueError) as caught:
        read_tyre_code(code, today)
    return str(caught.value)


def days_of(code: str, name: str, today: date = TODAY) -> tuple[date, date]:
    [reading] = [r for r in read_tyre_code(code, today).readings if r.name == name]
    return reading.from_on, reading.through_on


def test_the_regulations_own_example() -> None:
    """0109 is Sunday 4 January 2009 to Saturday 10 January 2009, as 49 CFR 574.5(b)(3) says."""
    assert days_of("0109", "49 CFR 574.5") == (date(2009, 1, 4), date(2009, 1, 10))
    assert date(2009, 1, 4).strftime("%A") == "Sunday"


def test_both_readings_are_given_and_the_span_covers_them() -> None:
    """2219 spans from the ISO Monday, the earlier start, to the Saturday of 49 CFR 574.5."""
    week = read_tyre_code("2219", TODAY)
    assert week == (
        "2219",
        date(2019, 5, 27),
        date(2019, 6, 8),
        (
            WeekReading("49 CFR 574.5", date(2019, 6, 2), date(2019, 6, 8)),
            WeekReading("ISO 8601", date(2019, 5, 27), date(2019, 6, 2)),
        ),
        (),
    )


def test_the_sunday_is_the_earlier_start_in_years_that_begin_so() -> None:
    """In 2023 a week of 49 CFR 574.5 starts the day before the ISO week of that number."""
    week = read_tyre_code("1023", TODAY)
    assert (week.from_on, week.through_on) == (date(2023, 3, 5), date(2023, 3, 12))


@pytest.mark.parametrize(
    ("code", "from_on"), [("0814", date(2014, 2, 23)), ("0124", date(2024, 1, 7))]
)
def test_weeks_counted_by_hand(code: str, from_on: date) -> None:
    """Weeks counted on a wall calendar from the first Sunday of January come out the same."""
    assert days_of(code, "49 CFR 574.5") == (from_on, from_on + timedelta(days=6))


@pytest.mark.parametrize(
    ("day", "code"),
    [
        (date(2009, 1, 3), "5208"),
        (date(2009, 1, 4), "0109"),
        (date(2024, 1, 6), "5323"),
        (date(2026, 1, 3), "5225"),
    ],
)
def test_days_before_the_first_sunday_belong_to_the_old_year(day: date, code: str) -> None:
    """A day before the first full week carries the last code of the year before."""
    assert code_of(day) == code


def test_week_53_that_only_iso_has() -> None:
    """5320 is read by ISO 8601 alone, with a caution, since 574.5 gives 2020 only 52 weeks."""
    week = read_tyre_code("5320", TODAY)
    assert week.readings == (WeekReading("ISO 8601", date(2020, 12, 28), date(2021, 1, 3)),)
    assert (week.from_on, week.through_on) == (date(2020, 12, 28), date(2021, 1, 3))
    assert week.cautions == (
        '"5320": ISO 8601 has a week 53 of 2020 and 49 CFR 574.5 has none: '
        "compare the code with the sidewall",
    )


def test_week_53_that_only_the_us_rule_has() -> None:
    """5323 is read by 49 CFR 574.5 alone, with a caution, since ISO 8601 gives 2023 52 weeks."""
    week = read_tyre_code("5323", TODAY)
    assert week.readings == (WeekReading("49 CFR 574.5", date(2023, 12, 31), date(2024, 1, 6)),)
    assert week.cautions == (
        '"5323": 49 CFR 574.5 has a week 53 of 2023 and ISO 8601 has none: '
        "compare the code with the sidewall",
    )


def test_years_with_a_week_53() -> None:
    """The years whose code 53xx is accepted are those with 53 Sundays or with 53 Thursdays."""
    accepted: dict[str, list[int]] = {"49 CFR 574.5": [], "ISO 8601": []}
    for year in range(2000, 2035):
        try:
            week = read_tyre_code(f"53{year % 100:02}", date(2050, 1, 1))
        except ValueError:
            continue
        for reading in week.readings:
            accepted[reading.name].append(year)

    def with_53(weekday: int) -> list[int]:
        every = [date(2000, 1, 1) + timedelta(days=n) for n in range(35 * 366)]
        counts = dict.fromkeys(range(2000, 2035), 0)
        for day in every:
            if day.weekday() == weekday and day.year in counts:
                counts[day.year] += 1
        return [year for year, count in counts.items() if count == 53]

    assert accepted == {"49 CFR 574.5": with_53(6), "ISO 8601": with_53(3)}


def test_week_53_that_neither_calendar_has() -> None:
    """A week 53 of a year in which no calendar has one is refused."""
    assert refusal("5322") == (
        '"5322" asks for week 53 of 2022, which neither 49 CFR 574.5 nor ISO 8601 has: '
        "read the sidewall again"
    )


@pytest.mark.parametrize("code", ["0019", "5419", "9919"])
def test_weeks_no_year_has(code: str) -> None:
    """Week 00 and weeks from 54 up are refused, with the likely cause: year typed first."""
    assert refusal(code) == (
        f'"{code}" asks for week {code[:2]}, and weeks run from 01 to 53: '
        "read the sidewall again, the week comes first and then the year"
    )


def test_three_digits_are_refused() -> None:
    """A three-digit code is refused, since it says no decade."""
    assert refusal("408") == (
        '"408" is a three-digit tyre date code, from before 2000, and does not say which decade: '
        "look for a fourth digit on the sidewall, or record the age as not known"
    )


@pytest.mark.parametrize("code", ["", "22/19", "DOT U2LL 2219", "22191", "٢٢١٩", "-219"])
def test_what_is_no_code_is_refused(code: str) -> None:
    """Anything but four plain digits is refused, with what to type."""
    assert refusal(code) == (
        f'"{code}" is not a tyre date code: type only the last four digits of the code on the '
        'sidewall, as in "2219" for week 22 of 2019'
    )


def test_a_year_before_2000_is_refused() -> None:
    """0198 is neither the future 2098 nor 1998, when codes had three digits."""
    assert refusal("0198") == (
        '"0198" would be week 01 of 2098, which begins after 2026-11-25, or of 1998, '
        "and a tyre made before 2000 carries a three-digit code: read the sidewall again"
    )


def test_a_week_still_to_come_is_refused() -> None:
    """A code of this year whose week has not begun by either calendar is refused."""
    assert refusal("5026") == (
        '"5026" would be week 50 of 2026, which begins after 2026-11-25, or of 1926, '
        "and a tyre made before 2000 carries a three-digit code: read the sidewall again"
    )


def test_a_week_begun_by_one_calendar_is_accepted_from_that_day() -> None:
    """2219 is accepted from its ISO Monday on and not the day before."""
    assert read_tyre_code("2219", date(2019, 5, 27)).from_on == date(2019, 5, 27)
    assert refusal("2219", date(2019, 5, 26)) == (
        '"2219" would be week 22 of 2019, which begins after 2019-05-26, or of 1919, '
        "and a tyre made before 2000 carries a three-digit code: read the sidewall again"
    )


def test_iso_week_01_may_begin_in_december() -> None:
    """On 30 December 2024, the Monday of ISO week 01 of 2025, code 0125 is already read."""
    assert read_tyre_code("0125", date(2024, 12, 30)).from_on == date(2024, 12, 30)


def test_the_latest_century_wins() -> None:
    """In 2130 the code 2219 is a tyre of 2119, not of 2019."""
    assert read_tyre_code("2219", date(2130, 1, 1)).from_on.year == 2119
    assert read_tyre_code("2235", date(2130, 1, 1)).from_on.year == 2035


def test_a_code_from_before_july_2000_has_a_caution() -> None:
    """Week 10 of 2000 is read, with a caution that four digits were not yet the rule."""
    assert read_tyre_code("1000", TODAY).cautions == (
        '"1000": week 10 of 2000 is before 2 July 2000, when four digits became the rule: '
        "compare the code with the sidewall",
    )
    # ISO week 26 of 2000 ends on Sunday 2 July, week 25 a week before.
    assert read_tyre_code("2500", TODAY).cautions != ()
    assert read_tyre_code("2600", TODAY).cautions == ()


def test_spaces_around_a_code_are_dropped() -> None:
    """A code pasted with spaces around it is the same code."""
    assert read_tyre_code(" 2219 ", TODAY) == read_tyre_code("2219", TODAY)


def test_no_code_is_made_for_a_day_before_2000() -> None:
    """1 January 2000 lies in the last week of 1999, when codes had three digits."""
    with pytest.raises(ValueError) as caught:
        code_of(date(2000, 1, 1))
    assert str(caught.value) == (
        '"2000-01-01" has no four-digit tyre date code: '
        "a tyre made before 2000 carries a three-digit code, so record its age as not known"
    )
    assert code_of(date(2000, 1, 2)) == "0100"


NOT_YET = (
    '"{0}" would be week {1} of {2}, which begins after {3}, or of {4}, '
    "and a tyre made before 2000 carries a three-digit code: read the sidewall again"
)


@pytest.mark.parametrize("today", [date.min, date(1999, 12, 31)])
def test_before_there_were_four_digits_every_code_is_refused(today: date) -> None:
    """At the beginning of the calendar a code is refused like any that is still to come."""
    assert [refusal(code, today) for code in ("0100", "5299", "5300", "5398")] == [
        NOT_YET.format("0100", "01", 2000, today, 1900),
        NOT_YET.format("5299", "52", 2099, today, 1999),
        NOT_YET.format("5300", "53", 2000, today, 1900),
        '"5398" asks for week 53 of 2098, which neither 49 CFR 574.5 nor ISO 8601 has: '
        "read the sidewall again",
    ]


def test_at_the_end_of_the_calendar_every_code_is_read() -> None:
    """The newest year that ends so and has such a week, and no day past the last there is."""
    codes = ("0100", "5299", "5300", "5398")

    assert [read_tyre_code(code, date.max).from_on for code in codes] == [
        date(9900, 1, 1),
        date(9899, 12, 24),
        date(9600, 12, 31),
        date(9998, 12, 28),
    ]


@pytest.mark.parametrize("week", ["01", "26", "52"])
def test_a_code_that_ends_in_99_is_never_of_1999(week: str) -> None:
    """The last year before four digits is no year of a code; 2099 is, once it has come."""
    assert refusal(f"{week}99") == NOT_YET.format(f"{week}99", week, 2099, TODAY, 1999)
    assert refusal(f"{week}99", date(2098, 12, 28)) == (
        NOT_YET.format(f"{week}99", week, 2099, "2098-12-28", 1999)
    )
    assert read_tyre_code(f"{week}99", date(2100, 1, 1)).from_on == {
        "01": date(2098, 12, 29),
        "26": date(2099, 6, 22),
        "52": date(2099, 12, 21),
    }[week]  # fmt: skip
    assert read_tyre_code("0199", date(2098, 12, 29)).from_on == date(2098, 12, 29)


@given(day=DAYS)
def test_the_code_is_pythons_sunday_week_count(day: date) -> None:
    """The code is the %U week of strftime (weeks from the first Sunday) of the week's Sunday."""
    sunday = day - timedelta(days=day.isoweekday() % 7)
    assert code_of(day) == sunday.strftime("%U%y")


@given(day=DAYS)
def test_a_day_lies_in_the_week_of_its_own_code(day: date) -> None:
    """A day lies within the 574.5 reading of its own code, and so within the whole span."""
    week = read_tyre_code(code_of(day), today=day)
    from_on, through_on = days_of(week.code, "49 CFR 574.5", today=day)
    assert from_on <= day <= through_on
    assert week.from_on <= from_on <= through_on <= week.through_on


@given(day=st.dates(date(2000, 1, 3), date(2150, 12, 31)))
def test_the_iso_reading_is_pythons_iso_week(day: date) -> None:
    """A day lies within the ISO reading of the code made from its isocalendar week."""
    year, number, _ = day.isocalendar()
    reading = days_of(f"{number:02}{year % 100:02}", "ISO 8601", today=day)
    assert reading[0] <= day <= reading[1]
    assert {d.isocalendar()[:2] for d in reading} == {(year, number)}


@given(day=DAYS)
def test_the_two_readings_start_six_days_or_one_day_apart(day: date) -> None:
    """Where both calendars have the week, the 574.5 start is 6 days later or 1 day earlier."""
    week = read_tyre_code(code_of(day), today=day)
    if len(week.readings) == 2:
        us, iso = week.readings
        assert (us.from_on - iso.from_on).days in (6, -1)
        assert week.from_on == min(us.from_on, iso.from_on)
        assert week.through_on == max(us.through_on, iso.through_on)

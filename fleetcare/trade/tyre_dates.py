"""When a tyre was made, read from the four digits of its date code (week, then year).

Source: 49 CFR 574.5(b)(3) (grade: law of the United States, read as quoted second-hand): weeks run
Sunday to Saturday, and week 01 is the first full one of the year. UNECE R30 and R54 ask for the
same four digits and are not known to say where a week starts (grade: memory, text not seen), so a
European maker may as well count by ISO 8601: Monday to Sunday, week 01 holding 4 January.

The same code then means two weeks, whose starts lie six days or one day apart, and the two
calendars disagree about which years have a week 53. Both readings are given. An age is counted
from `from_on`, the earliest day of either: a tyre must never look younger than it may be.

Four digits began on 2 July 2000 (64 FR 36807, grade: the notice was read, its effective date
second-hand). Before that a code had three digits and said its decade nowhere.
"""

import re
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

US_RULE = "49 CFR 574.5"
ISO_RULE = "ISO 8601"

FIRST_YEAR = 2000
FOUR_DIGITS_FROM = date(2000, 7, 2)

# `date` ends with the year 9999, and the last week of a year may end in the next one.
_LAST_YEAR = 9998
_SIX_DAYS = timedelta(days=6)


class WeekReading(NamedTuple):
    """The days one calendar gives to a code, both ends included."""

    name: str
    from_on: date
    through_on: date


class TyreWeek(NamedTuple):
    """The days on which a tyre with this code may have been made, over all readings."""

    code: str
    from_on: date
    through_on: date
    readings: tuple[WeekReading, ...]
    cautions: tuple[str, ...]


def read_tyre_code(code: str, today: date) -> TyreWeek:
    """Read a four-digit date code as the latest week of that name begun by `today`.

    A week counts as begun when either calendar has begun it, so `through_on` may lie some days
    after `today`. ValueError, as a sentence for the person who typed it, when no week fits.
    """
    return _read(code.strip(), today)


def code_of(day: date) -> str:
    """Give the code that 49 CFR 574.5 puts on a tyre made on `day`.

    Days before the first Sunday of January belong to the last week of the year before.
    """
    sunday = day - timedelta(days=(day.weekday() + 1) % 7)
    if sunday.year < FIRST_YEAR:
        raise ValueError(
            f'"{day.isoformat()}" has no four-digit tyre date code: '
            "a tyre made before 2000 carries a three-digit code, so record its age as not known"
        )
    week = 1 + (sunday - _first_sunday(sunday.year)).days // 7
    return f"{week:02}{sunday.year % 100:02}"


@lru_cache(maxsize=4096)
def _read(code: str, today: date) -> TyreWeek:
    week, ending = _split(code)
    # One ahead: by ISO 8601 week 01 may begin in the last days of December.
    newest = min(today.year + 1, _LAST_YEAR)
    newest -= (newest - ending) % 100
    for year in range(newest, FIRST_YEAR - 1, -100):
        readings = _readings(week, year)
        if readings and min(reading.from_on for reading in readings) <= today:
            return _tyre_week(code, week, year, readings)
    ahead = newest if newest >= FIRST_YEAR else FIRST_YEAR + ending
    raise ValueError(_why_no_year(code, week, ahead, today))


def _split(code: str) -> tuple[int, int]:
    if re.fullmatch(r"[0-9]{3}", code):
        raise ValueError(
            f'"{code}" is a three-digit tyre date code, from before 2000, and does not say which '
            "decade: look for a fourth digit on the sidewall, or record the age as not known"
        )
    if not re.fullmatch(r"[0-9]{4}", code):
        raise ValueError(
            f'"{code}" is not a tyre date code: type only the last four digits of the code on the '
            'sidewall, as in "2219" for week 22 of 2019'
        )
    week, ending = int(code[:2]), int(code[2:])
    if not 1 <= week <= 53:
        raise ValueError(
            f'"{code}" asks for week {week:02}, and weeks run from 01 to 53: '
            "read the sidewall again, the week comes first and then the year"
        )
    return week, ending


def _why_no_year(code: str, week: int, ahead: int, today: date) -> str:
    if not _readings(week, ahead):
        return (
            f'"{code}" asks for week {week:02} of {ahead}, which neither {US_RULE} nor {ISO_RULE} '
            "has: read the sidewall again"
        )
    return (
        f'"{code}" would be week {week:02} of {ahead}, which begins after {today.isoformat()}, or '
        f"of {ahead - 100}, and a tyre made before 2000 carries a three-digit code: "
        "read the sidewall again"
    )


def _first_sunday(year: int) -> date:
    new_year = date(year, 1, 1)
    return new_year + timedelta(days=6 - new_year.weekday())


def _readings(week: int, year: int) -> tuple[WeekReading, ...]:
    """Give each calendar's days for this week, leaving out a calendar that has no such week."""
    readings = []
    sunday = _first_sunday(year) + timedelta(weeks=week - 1)
    # The last week may run up to six days into the next year, but it starts in its own.
    if sunday.year == year:
        readings.append(WeekReading(US_RULE, sunday, sunday + _SIX_DAYS))
    # ISO 8601: 28 December always lies in the last week of its year.
    if week <= date(year, 12, 28).isocalendar().week:
        monday = date.fromisocalendar(year, week, 1)
        readings.append(WeekReading(ISO_RULE, monday, monday + _SIX_DAYS))
    return tuple(readings)


def _tyre_week(code: str, week: int, year: int, readings: tuple[WeekReading, ...]) -> TyreWeek:
    through_on = max(reading.through_on for reading in readings)
    cautions = []
    if len(readings) == 1:
        has = readings[0].name
        lacks = ISO_RULE if has == US_RULE else US_RULE
        cautions.append(
            f'"{code}": {has} has a week {week:02} of {year} and {lacks} has none: '
            "compare the code with the sidewall"
        )
    if through_on < FOUR_DIGITS_FROM:
        cautions.append(
            f'"{code}": week {week:02} of {year} is before 2 July 2000, '
            "when four digits became the rule: compare the code with the sidewall"
        )
    from_on = min(reading.from_on for reading in readings)
    return TyreWeek(code, from_on, through_on, readings, tuple(cautions))

"""The days on which a firm's workshop is closed by law, written out as dates where its file is
taken in: an answer never depends on a library, nor on which version of it is installed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare import clock
from fleetcare.errors import Problem, Refused, needs
from fleetcare.rules.book import Book
from fleetcare.words.days import day_words

_YEARS = 3
_LEAD = dt.timedelta(weeks=8)  # before the last of the days known: common practice, no source


def written_out(firm: Any, file: str) -> Any:
    """A firm's file with the bank holidays it names as dates among its closed days, from this year
    on; any other file as it is. Refused for a place of which nothing is known."""
    settings = firm.get("settings") if isinstance(firm, dict) else None
    if not isinstance(settings, dict):
        return firm
    named = settings.get("bank_holidays")
    if not isinstance(named, str) or not isinstance(settings.get("closed_days", []), list):
        return firm  # whatever else is wrong with it is told where it is read
    first = clock.today().year
    days = _days(named, range(first, first + _YEARS), file)
    listed = [*settings.get("closed_days", ()), *days]
    through = dt.date(first + _YEARS - 1, 12, 31)
    dates = sorted(day for day in set(listed) if isinstance(day, dt.date))
    own = {"closed_days": dates, "bank_holidays_through": through}
    return {**firm, "settings": {**settings, **own}}


def _days(named: str, years: range, file: str) -> list[dt.date]:
    with needs("holidays", "holidays"):
        import holidays

    country, _, part = named.partition("-")
    try:
        found = holidays.country_holidays(country, subdiv=part or None, years=years)
    except NotImplementedError:
        words = f'"{named}" is no place whose bank holidays are known: like GB-ENG, GB-SCT, DE-BY'
        raise Refused([Problem(f"{file}: settings.bank_holidays", words)]) from None
    return sorted(found)


def running_out(book: Book) -> tuple[str, ...]:
    """A caution once the days written out come to their end."""
    through = book.bank_holidays_through
    if through is None or clock.today() + _LEAD <= through:
        return ()
    return (
        f"the bank holidays of {book.bank_holidays} are known through {day_words(through)}: take "
        "the firm's file in again with fleetcare rules adopt FILE",
    )

"""The calendar feed: read by three parsers that are not ours, the same bytes for the same book."""

from __future__ import annotations

import datetime as dt
import uuid
import warnings
from collections.abc import Callable
from typing import Any

import pytest

from fleetcare.desk import feeds
from fleetcare.desk.asking import asking
from tests.typed import typed

DAY = dt.date(2026, 8, 1)


@pytest.fixture
def feed(good: str) -> bytes:
    """The feed of one van in good order."""
    return feeds.calendar(good, DAY)


def _events(data: bytes) -> list[dict[str, str]]:
    """The events by name, folded lines joined, read as RFC 5545 3.1 says and by nothing of ours."""
    lines = data.decode().replace("\r\n ", "").split("\r\n")
    found: list[dict[str, str]] = []
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and name not in found[-1]:
            found[-1][name] = value
    return found


def _vobject(data: bytes) -> None:
    import vobject

    for calendar in vobject.readComponents(data.decode()):
        calendar.validate(raiseException=True)
        for event in calendar.vevent_list:
            assert event.dtstart.value


def _ics(data: bytes) -> None:
    import ics

    for event in ics.Calendar(data.decode()).events:
        assert event.all_day


def _ical(data: bytes) -> None:
    from ical.calendar_stream import IcsCalendarStream

    calendar = IcsCalendarStream.calendar_from_ics(data.decode())
    assert all(isinstance(event.dtstart, dt.date) for event in calendar.events)


PARSERS: list[Callable[[bytes], None]] = [_vobject, _ics, _ical]
BROKEN: dict[str, tuple[str, str]] = {
    "no UID": ("\r\nUID:", "\r\nX-UID:"),
    "no DTSTAMP": ("\r\nDTSTAMP:", "\r\nX-DTSTAMP:"),
    "ends before it starts": ("\r\nDTEND;VALUE=DATE:20", "\r\nDTEND;VALUE=DATE:19"),
    "no PRODID": ("\r\nPRODID:", "\r\nX-PRODID:"),
    "an alarm without TRIGGER": ("\r\nTRIGGER:", "\r\nX-TRIGGER:"),
    "30 February": ("\r\nDTSTART;VALUE=DATE:20260810", "\r\nDTSTART;VALUE=DATE:20260230"),
    "an event that does not end": ("\r\nEND:VEVENT", ""),
    "a bare newline": ("\r\nSUMMARY:", "\r\nSUMMARY:a\nb"),
}


def _rejected(data: bytes) -> list[str]:
    found = []
    for parse in PARSERS:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                parse(data)
            except Exception:
                found.append(parse.__name__)
    return found


def test_three_independent_parsers_take_it(feed: bytes) -> None:
    """vobject, ics and ical read every event."""
    assert _rejected(feed) == []


@pytest.mark.parametrize("harm", BROKEN)
def test_the_parsers_would_not_take_a_broken_one(feed: bytes, harm: str) -> None:
    """Each of eight breaks is turned down by at least one of them, so their yes means something."""
    old, new = BROKEN[harm]
    broken = feed.replace(old.encode(), new.encode(), 1)
    assert broken != feed

    assert _rejected(broken) != []


def test_every_line_is_as_the_standard_says(feed: bytes) -> None:
    """CRLF, at most 75 octets a line, whole characters on each; whole days; see-through."""
    lines = feed.split(b"\r\n")

    assert b"\n" not in feed.replace(b"\r\n", b"")
    assert all(len(line) <= 75 and line.decode() is not None for line in lines)
    for event in _events(feed):
        start, end = (dt.date.fromisoformat(event[f"{n};VALUE=DATE"]) for n in ("DTSTART", "DTEND"))
        assert (end - start).days == 1
        assert event["TRANSP"] == "TRANSPARENT"


def test_the_gas_check_is_in_it_with_its_last_day_and_alarm(feed: bytes) -> None:
    """In date through 10 August 2026; told a fortnight before; its source is there, no name is."""
    (gas,) = [e for e in _events(feed) if "gas safety check: last day" in e["SUMMARY"]]

    assert gas["DTSTART;VALUE=DATE"] == "20260810"
    assert gas["TRIGGER"] == "-P14D"
    assert "Gas Safety" in gas["DESCRIPTION"]
    assert b"A. Fitter" not in feed
    assert b"B. Smith" not in feed


def test_unchanged_the_feed_is_the_same_and_changed_only_there(good: str, feed: bytes) -> None:
    """The same bytes for the same book; a new check moves its own day, keeps its UID, and rises."""
    assert feeds.calendar(good, DAY) == feed
    typed(good, 'record V01 habitation --pass --by "B. Smith" --on 2026-08-01', dt.date(2026, 8, 2))
    before, after = (
        {e["UID"]: e for e in _events(data)} for data in (feed, feeds.calendar(good, DAY))
    )
    changed = [uid for uid in before if uid in after and before[uid] != after[uid]]

    assert changed
    for uid in changed:
        assert "habitation" in after[uid]["SUMMARY"]
        assert int(after[uid]["SEQUENCE"]) > int(before[uid]["SEQUENCE"])
        assert after[uid]["DTSTAMP"] > before[uid]["DTSTAMP"]


def test_a_uid_tells_nobody_anything(good: str, feed: bytes) -> None:
    """A UUID of the random form, another in another book, with neither plate nor host in it."""
    uids = [event["UID"] for event in _events(feed)]

    assert len(set(uids)) == len(uids)
    assert all(uuid.UUID(one).version == 4 and str(uuid.UUID(one)) == one for one in uids)
    with asking(good) as asked:
        leaf: Any = asked.connection.exec_driver_sql("SELECT leaf FROM record LIMIT 1").scalar()
    from fleetcare.render.ics import uid

    assert uid(leaf, "V01|gas-safety-check||last day") in uids
    assert uid("0" * 64, "V01|gas-safety-check||last day") not in uids


def test_days_of_the_whole_horizon_are_in_it_and_a_van_gone_is_not(good: str) -> None:
    """Tyres that age out in years are there; a van that left the fleet leaves the feed."""
    years = {event["DTSTART;VALUE=DATE"][:4] for event in _events(feeds.calendar(good, DAY))}
    typed(good, 'van gone V01 --on 2026-08-01 "sold"', DAY)

    assert {"2026", "2029", "2033"} <= years
    assert _events(feeds.calendar(good, dt.date(2026, 8, 2))) == []


def test_what_does_not_stand_good_is_on_the_day_it_is_made(good: str) -> None:
    """Overdue or stopped: there today, and tomorrow on tomorrow with a higher SEQUENCE."""
    typed(good, 'defect report V01 --grade dangerous "brake pipe"', DAY)
    first, second = (
        next(e for e in _events(feeds.calendar(good, day)) if "defect" in e["SUMMARY"])
        for day in (DAY, DAY + dt.timedelta(days=1))
    )

    assert first["SUMMARY"].endswith(": failed")
    assert (first["DTSTART;VALUE=DATE"], second["DTSTART;VALUE=DATE"]) == ("20260801", "20260802")
    assert int(second["SEQUENCE"]) == int(first["SEQUENCE"]) + 1


def test_a_sequence_never_falls_when_a_record_is_taken_back(good: str) -> None:
    """RFC 5545 3.8.7.4: the older check stands again, and its entry is newer for all that."""
    typed(good, 'record V01 habitation --pass --by "B. Smith" --on 2026-08-01', DAY)
    (before,) = [e for e in _events(feeds.calendar(good, DAY)) if "habitation" in e["SUMMARY"]
                 and "last day" in e["SUMMARY"]]  # fmt: skip
    with asking(good) as asked:
        newest = asked.as_of.known_at
    typed(good, f'withdraw {newest} "wrong van"', DAY + dt.timedelta(days=1))
    after = {e["UID"]: e for e in _events(feeds.calendar(good, DAY))}[before["UID"]]

    assert after["DTSTART;VALUE=DATE"] < before["DTSTART;VALUE=DATE"]
    assert int(after["SEQUENCE"]) > int(before["SEQUENCE"])
    assert after["DTSTAMP"] > before["DTSTAMP"]


def test_no_two_entries_have_one_uid(ready: str, sample_book: str) -> None:
    """Not where one rule rests on several things nobody said, nor in the whole sample fleet."""
    typed(
        ready, 'van add V01 --plate "QI24 QIQ" --jurisdiction gb --in-service-from 2024-05-10', DAY
    )
    for place, day in ((ready, DAY), (sample_book, dt.date(2026, 11, 23))):
        uids = [event["UID"] for event in _events(feeds.calendar(place, day))]

        assert len(uids) > 10
        assert len(set(uids)) == len(uids)

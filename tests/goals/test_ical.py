"""What the feed writes, read by another program (`icalendar`) and octet by octet."""

import re
from datetime import UTC, date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.goals.feed.ical import Entry, calendar, duration, folded, text

pytestmark = pytest.mark.once

KEY = UUID("6b1f0f0e-58a3-5d0a-8a3e-0f6d1f2c9b11")
STAMP = datetime(2026, 11, 27, 9, 30, tzinfo=UTC)
DAY = (date(2026, 12, 1), date(2026, 12, 2))


def entry(start=DAY[0], end=DAY[1], **changes):
    return Entry(key=KEY, start=start, end=end, summary="Practice", stamp=STAMP, **changes)


def written(*entries):
    return calendar("Dates", entries, refresh=timedelta(days=1))


def read(raw):
    (event,) = icalendar.Calendar.from_ical(raw).walk("VEVENT")
    return event


@pytest.mark.parametrize(
    ("words", "value"),
    [
        # RFC 5545, 3.3.11: backslash, semicolon, comma and newline are escaped, a colon is not.
        ("Gym A; court 2, bring ball", r"Gym A\; court 2\, bring ball"),
        ("A\nB", r"A\nB"),
        ("A\r\nB", r"A\nB"),
        (r"C:\x", r"C:\\x"),
        # Not a line end: the backslash is the reader's own (3.3.11).
        (r"a\nb", r"a\\nb"),
        # 3.1: control characters may not stand in a value.
        ("a\x00b\x07c\td", "abc\td"),
    ],
)
def test_text_is_escaped(words, value):
    assert text(words) == value
    event = read(written(entry(place=words)))
    assert f"LOCATION:{value}\r\n".encode() in written(entry(place=words))
    assert event["LOCATION"] == words.replace("\r\n", "\n").replace("\x00", "").replace("\x07", "")


def test_a_day_ends_where_the_next_begins():
    # RFC 5545, 3.6.1 and 3.3.4: DTEND is exclusive, days are VALUE=DATE.
    raw = written(entry())
    assert b"DTSTART;VALUE=DATE:20261201\r\nDTEND;VALUE=DATE:20261202\r\n" in raw
    event = read(raw)
    assert (event.start, event.end) == DAY


def test_a_time_goes_out_in_utc():
    # RFC 5545, 3.3.5, form 2: 18:00 in New York on 1 December is 23:00 UTC.
    start = datetime(2026, 12, 1, 18, 0, tzinfo=ZoneInfo("America/New_York"))
    raw = written(entry(start, start + timedelta(minutes=90)))
    assert b"DTSTART:20261201T230000Z\r\n" in raw
    event = read(raw)
    assert event.start == start
    assert event.duration == timedelta(minutes=90)
    # RFC 5545, 3.6.1: DURATION may not stand beside DTEND.
    assert b"DURATION" not in raw.split(b"BEGIN:VEVENT")[1]


@pytest.mark.parametrize(
    ("zone", "day", "before", "after"),
    [
        ("America/New_York", date(2026, 10, 27), "20261027T220000Z", "20261103T230000Z"),
        ("Europe/London", date(2026, 3, 24), "20260324T180000Z", "20260331T170000Z"),
        ("Australia/Lord_Howe", date(2026, 3, 31), "20260331T070000Z", "20260407T073000Z"),
    ],
)
def test_six_in_the_evening_stays_six_when_the_clock_changes(zone, day, before, after):
    for on, value in ((day, before), (day + timedelta(days=7), after)):
        start = datetime(on.year, on.month, on.day, 18, tzinfo=ZoneInfo(zone))
        raw = written(entry(start, start + timedelta(minutes=90)))
        assert f"DTSTART:{value}\r\n".encode() in raw
        event = read(raw)
        assert event.start.astimezone(ZoneInfo(zone)).time().hour == 18
        assert (event["UID"], event.duration) == (str(KEY), timedelta(minutes=90))
        # In UTC nothing has to be said about zones.
        assert b"TZID" not in raw
        assert b"VTIMEZONE" not in raw


@pytest.mark.parametrize(
    ("length", "value"),
    [
        # RFC 5545, 3.3.6; REFRESH-INTERVAL;VALUE=DURATION:P1D is RFC 7986, 5.7.
        (timedelta(minutes=90), "PT1H30M"),
        (timedelta(days=1), "P1D"),
        (timedelta(hours=6), "PT6H"),
        (timedelta(days=15, hours=5, seconds=20), "P15DT5H0M20S"),
        (timedelta(seconds=20), "PT20S"),
        (timedelta(), "PT0S"),
    ],
)
def test_durations(length, value):
    assert duration(length) == value
    assert icalendar.vDuration.from_ical(value) == length


@given(st.timedeltas(min_value=timedelta(), max_value=timedelta(days=4000)))
def test_any_duration_is_read_back(length):
    length -= timedelta(microseconds=length.microseconds)
    assert icalendar.vDuration.from_ical(duration(length)) == length


def test_a_cancelled_date_keeps_its_key_and_counts_on():
    # RFC 5545, 3.8.1.11 and 3.8.7.4; RFC 5546, 3.2.5.
    event = read(written(entry(sequence=1, cancelled=True)))
    assert event["UID"] == str(KEY)
    assert (event["SEQUENCE"], event["STATUS"]) == (1, "CANCELLED")
    assert event["TRANSP"] == "TRANSPARENT"


def test_the_calendar_says_who_made_it_and_when_to_look_again():
    # RFC 5545, 3.6 (PRODID, VERSION); RFC 7986, 5.1 and 5.7 (NAME, REFRESH-INTERVAL).
    raw = written(entry())
    assert raw.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")
    assert b"\r\nNAME:Dates\r\n" in raw
    assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:P1D\r\n" in raw
    # RFC 5545, 3.6.1: UID and DTSTAMP are required.
    assert read(raw)["DTSTAMP"].dt == STAMP


def test_a_calendar_without_entries_still_has_a_component():
    # RFC 5545, 3.6: a calendar holds at least one component.
    found = icalendar.Calendar.from_ical(written())
    assert not found.errors
    assert len(found.subcomponents) == 1


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="ends before"):
        written(entry(DAY[1], DAY[0]))
    with pytest.raises(ValueError, match="zone"):
        written(entry(datetime(2026, 12, 1, 18), datetime(2026, 12, 1, 19)))
    with pytest.raises(ValueError, match="negative"):
        duration(timedelta(seconds=-1))


# Everything that a database keeps: no surrogates, and PostgreSQL takes no NUL.
anything = st.text(st.characters(exclude_categories=["Cs"]), max_size=200)


@given(anything)
def test_no_line_is_longer_than_75_octets_and_no_character_is_split(words):
    # RFC 5545, 3.1: folded at 75 octets, line end not counted, with CRLF and a space.
    raw = folded(f"SUMMARY:{text(words)}")
    lines = raw.split(b"\r\n")
    assert lines.pop() == b""
    for line in lines:
        assert len(line) <= 75
        line.decode()
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert raw.replace(b"\r\n ", b"").decode() == f"SUMMARY:{text(words)}\r\n"


@given(anything, anything)
def test_whatever_people_write_is_read_back_and_nothing_else(words, place):
    raw = written(entry(place=place, words=words))
    found = icalendar.Calendar.from_ical(raw)
    (event,) = found.subcomponents
    assert not found.errors
    assert not event.errors
    assert set(event) <= {
        "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "LOCATION",
        "DESCRIPTION", "STATUS", "TRANSP",
    }  # fmt: skip
    plain = re.sub("\r\n|[\r\v\f\x85\u2028\u2029]", "\n", words)
    plain = re.sub("[\x00-\x08\x0e-\x1f\x7f]", "", plain)
    assert event.get("DESCRIPTION", "") == plain

from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.stats import weeks

pytestmark = pytest.mark.once

# Wikipedia, "ISO week date", the usual list; dates after 2010 recomputed with datetime.isocalendar.
ISO_DATES = """
1977-01-01 1976-W53; 1977-12-31 1977-W52; 1978-01-01 1977-W52; 1978-01-02 1978-W01;
1979-12-31 1980-W01; 1980-12-28 1980-W52; 1980-12-29 1981-W01; 1981-12-31 1981-W53;
1982-01-03 1981-W53; 2008-12-29 2009-W01; 2010-01-03 2009-W53; 2015-12-31 2015-W53;
2016-01-03 2015-W53; 2019-12-30 2020-W01; 2020-12-31 2020-W53; 2021-01-03 2020-W53;
2021-01-04 2021-W01; 2024-12-30 2025-W01; 2025-12-29 2026-W01; 2026-12-28 2026-W53;
2027-01-01 2026-W53; 2027-01-03 2026-W53; 2027-01-04 2027-W01
"""
# CPython, Lib/test/datetimetester.py, test_isocalendar.
CPYTHON_DATES = """
2003-12-22 2003-W52; 2003-12-29 2004-W01; 2004-01-05 2004-W02; 2009-12-21 2009-W52;
2009-12-28 2009-W53; 2010-01-04 2010-W01
"""
# CPython, Lib/test/datetimetester.py, ISO_LONG_YEARS_TABLE, 2000 to 2060.
LONG_YEARS = {2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048, 2054, 2060}

# IANA time zone database through zoneinfo; hours from the offsets on either side.
BOUNDS = [
    ("2026-W13", "Europe/London", "2026-03-23 00:00", "2026-03-29 23:00", 167),
    ("2026-W43", "Europe/London", "2026-10-18 23:00", "2026-10-26 00:00", 169),
    ("2026-W13", "Europe/Madrid", "2026-03-22 23:00", "2026-03-29 22:00", 167),
    ("2026-W10", "America/New_York", "2026-03-02 05:00", "2026-03-09 04:00", 167),
    ("2026-W44", "America/New_York", "2026-10-26 04:00", "2026-11-02 05:00", 169),
    ("2026-W14", "Australia/Sydney", "2026-03-29 13:00", "2026-04-05 14:00", 169),
    ("2026-W10", "America/Phoenix", "2026-03-02 07:00", "2026-03-09 07:00", 168),
    # 30 December 2011 was skipped when Samoa crossed the date line.
    ("2011-W52", "Pacific/Apia", "2011-12-26 10:00", "2012-01-01 10:00", 144),
    # Offset +9:30 in winter and +10:30 in summer.
    ("2026-W14", "Australia/Adelaide", "2026-03-29 13:30", "2026-04-05 14:30", 169),
    ("2026-W40", "Australia/Adelaide", "2026-09-27 14:30", "2026-10-04 13:30", 167),
    # The only zone whose clock changes by half an hour: +11:00 in summer, +10:30 in winter.
    ("2026-W14", "Australia/Lord_Howe", "2026-03-29 13:00", "2026-04-05 13:30", 168.5),
    ("2026-W40", "Australia/Lord_Howe", "2026-09-27 13:30", "2026-10-04 13:00", 167.5),
]

INSTANTS = [
    ("2026-01-05 04:30", "America/New_York", "2026-W01", "2026-W02"),
    ("2026-01-05 05:00", "America/New_York", "2026-W02", "2026-W02"),
    ("2027-01-04 00:30", "America/Los_Angeles", "2026-W53", "2027-W01"),
    ("2026-03-29 22:59", "Europe/London", "2026-W13", "2026-W13"),
    ("2026-03-29 23:30", "Europe/London", "2026-W14", "2026-W13"),
    ("2026-10-25 23:59", "Europe/London", "2026-W43", "2026-W43"),
    ("2026-11-02 04:59", "America/New_York", "2026-W44", "2026-W45"),
    ("2026-01-04 15:30", "Asia/Tokyo", "2026-W02", "2026-W01"),
    ("2026-04-05 13:29", "Australia/Lord_Howe", "2026-W14", "2026-W14"),
    ("2026-04-05 13:30", "Australia/Lord_Howe", "2026-W15", "2026-W14"),
]

FIRST_DAY, LAST_DAY = date(2000, 1, 3), date(2060, 1, 1)
QUIET_ZONES = {"UTC", "Asia/Kolkata", "Asia/Kathmandu", "Africa/Cairo"}
zones = st.sampled_from(sorted({row[1] for row in BOUNDS} | QUIET_ZONES))
instants = st.builds(
    lambda day, at: datetime.combine(day, at, tzinfo=UTC), st.dates(FIRST_DAY, LAST_DAY), st.times()
)
iso_weeks = st.builds(lambda day: day.isocalendar()[:2], st.dates(FIRST_DAY, LAST_DAY))


def utc(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def rows(text):
    return [tuple(row.split()) for row in text.split(";")]


@pytest.mark.parametrize(("day", "label"), rows(ISO_DATES) + rows(CPYTHON_DATES))
def test_published_iso_dates(day, label):
    noon = utc(f"{day} 12:00")
    assert weeks.format_label(weeks.week_of(noon, "UTC")) == label
    start, end = weeks.bounds(*weeks.parse_label(label), "UTC")
    assert start <= noon < end


def test_years_with_53_weeks():
    def exists(year):
        try:
            weeks.monday(year, 53)
        except ValueError:
            return False
        return True

    assert {year for year in range(2000, 2061) if exists(year)} == LONG_YEARS
    assert sum(exists(year) for year in range(2000, 2400)) == 71


@pytest.mark.parametrize(("label", "zone", "start", "end", "hours"), BOUNDS)
def test_bounds_follow_the_wall_clock(label, zone, start, end, hours):
    found = weeks.bounds(*weeks.parse_label(label), ZoneInfo(zone))
    assert found == (utc(start), utc(end))
    assert all(instant.tzinfo is UTC for instant in found)
    assert (found[1] - found[0]) / timedelta(hours=1) == hours


@pytest.mark.parametrize(("instant", "zone", "local", "in_utc"), INSTANTS)
def test_an_instant_belongs_to_its_local_week(instant, zone, local, in_utc):
    assert weeks.format_label(weeks.week_of(utc(instant), ZoneInfo(zone))) == local
    assert weeks.format_label(weeks.week_of(utc(instant), UTC)) == in_utc


def test_a_day_whose_midnight_is_missing_starts_after_the_gap():
    # Cairo goes from 00:00 straight to 01:00 on 24 April 2026 (IANA).
    assert weeks.local_start(date(2026, 4, 24), "Africa/Cairo") == utc("2026-04-23 22:00")


def test_a_zone_may_be_given_by_name():
    name = "Europe/London"
    assert weeks.bounds(2026, 13, name) == weeks.bounds(2026, 13, ZoneInfo(name))


def test_an_instant_may_carry_any_offset():
    there = datetime(2026, 3, 30, 9, 0, tzinfo=timezone(timedelta(hours=10, minutes=30)))
    assert weeks.week_of(there, "Europe/London") == (2026, 13)
    assert weeks.week_of(there, "Australia/Adelaide") == (2026, 14)


def test_a_naive_instant_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        weeks.week_of(utc("2026-03-30 00:00").replace(tzinfo=None), "UTC")


@pytest.mark.parametrize(("year", "week"), [(2027, 53), (2026, 54), (2026, 0), (2026, -1), (0, 1)])
def test_a_week_that_does_not_exist_is_refused(year, week):
    with pytest.raises(ValueError, match="there is no week"):
        weeks.bounds(year, week, "UTC")


def test_the_last_week_of_the_calendar_has_no_end():
    with pytest.raises(ValueError, match="outside the calendar"):
        weeks.bounds(9999, 52, "UTC")


@pytest.mark.parametrize("zone", ["Mars/Olympus", "", "../etc/passwd", "Europe"])
def test_an_unknown_zone_is_refused(zone):
    with pytest.raises(ValueError, match="is not a time zone"):
        weeks.bounds(2026, 1, zone)


@pytest.mark.parametrize(
    "label", ["2026-47", "2026-W7", "26-W47", "2026-w47", " 2026-W47", "2026-W47\n", "٢٠٢٦-W47", ""]
)
def test_a_label_in_another_form_is_refused(label):
    with pytest.raises(ValueError, match="written like 2026-W47"):
        weeks.parse_label(label)


@pytest.mark.parametrize("label", ["2027-W53", "2026-W00", "2026-W60", "0000-W01"])
def test_a_label_of_no_week_is_refused(label):
    with pytest.raises(ValueError, match="there is no week"):
        weeks.parse_label(label)


def test_steps_across_a_year_with_53_weeks():
    assert weeks.previous_week((2027, 1)) == (2026, 53)
    assert weeks.next_week((2026, 53)) == (2027, 1)
    assert weeks.previous_week((2026, 1)) == (2025, 52)
    assert weeks.weeks_until((2027, 1), 3) == [(2026, 52), (2026, 53), (2027, 1)]
    assert weeks.weeks_until((2027, 1), 0) == []
    assert weeks.weeks_between((2026, 53), (2027, 2)) == [(2026, 53), (2027, 1), (2027, 2)]
    assert weeks.weeks_between((2027, 1), (2026, 53)) == []
    assert weeks.last_complete_week(utc("2027-01-04 00:30"), "America/Los_Angeles") == (2026, 52)
    assert weeks.last_complete_week(utc("2027-01-04 00:30"), "UTC") == (2026, 53)


@given(instants, zones)
def test_every_instant_lies_in_the_week_it_is_said_to_be_in(instant, zone):
    start, end = weeks.bounds(*weeks.week_of(instant, zone), zone)
    assert start <= instant < end


@given(iso_weeks, zones)
def test_weeks_meet_without_gap_or_overlap(week, zone):
    start, end = weeks.bounds(*week, zone)
    assert weeks.bounds(*weeks.next_week(week), zone)[0] == end
    assert weeks.week_of(start, zone) == week
    assert weeks.week_of(end - timedelta(microseconds=1), zone) == week
    assert weeks.week_of(end, zone) == weeks.next_week(week)


@given(iso_weeks)
def test_steps_and_labels_round_trip(week):
    assert weeks.previous_week(weeks.next_week(week)) == week
    assert weeks.parse_label(weeks.format_label(week)) == week


@given(iso_weeks, st.integers(0, 120))
def test_weeks_between_counts_both_ends(first, steps):
    last = first
    for _ in range(steps):
        last = weeks.next_week(last)
    found = weeks.weeks_between(first, last)
    assert (found[0], found[-1], len(found)) == (first, last, steps + 1)
    assert found == sorted(found)

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.stats import hours

pytestmark = pytest.mark.once

# DiFiori et al. 2018, Sports Med. 48:2053-2065, Table 4, with the sleep of Paruthi et al. 2016,
# J. Clin. Sleep Med. 12(6):785-786.
BANDS = [
    (8, None, 3, 1, 2, (9, 12)),
    (11, None, 5, 2, 2, (9, 12)),
    (12, None, 10, 2, 1, (9, 12)),
    (13, None, 10, 2, 1, (8, 10)),
    (14, 8, 10, 2, 1, (8, 10)),
    (14, None, 10, 2, 1, (8, 10)),
    (14, 9, 14, 2, 1, (8, 10)),
    (16, 11, 14, 2, 1, (8, 10)),
    (17, None, 14, 2, 1, (8, 10)),
    # What the table does not say: the age comes before a grade that a child is early in.
    (13, 9, 10, 2, 1, (8, 10)),
    (None, 10, 14, 2, 1, (8, 10)),
]


@pytest.mark.parametrize(("age", "grade", "organised", "games", "rest", "sleep"), BANDS)
def test_published_bands(age, grade, organised, games, rest, sleep):
    found = hours.limits(age, grade)
    assert (found.organised, found.games_a_day, found.rest_days) == (organised, games, rest)
    assert found.sleep == sleep


@pytest.mark.parametrize(("age", "grade"), [(6, None), (19, None), (None, None), (None, 5)])
def test_where_nothing_is_published_nothing_is_said(age, grade):
    assert hours.limits(age, grade) is None
    assert not hours.over_limit(40, hours.limits(age, grade))


@pytest.mark.parametrize(("age", "at"), [(8, 3), (11, 5), (12, 10), (15, 14)])
def test_at_the_limit_is_within(age, at):
    assert not hours.over_limit(at, hours.limits(age, None))
    assert hours.over_limit(at + 0.01, hours.limits(age, None))


@given(st.integers(7, 17), st.none() | st.integers(1, 12))
def test_a_year_later_the_limit_is_no_lower(age, grade):
    assert hours.limits(age, grade).organised <= hours.limits(age + 1, grade).organised


def test_hours_against_years():
    # Jayanthi et al. 2015, Am. J. Sports Med. 43:794-801.
    assert not hours.over_age(12.0, 12)
    assert hours.over_age(12.1, 12)
    assert not hours.over_age(40, 30)
    assert not hours.over_age(40, None)


def test_organised_against_free_play():
    assert hours.mostly_organised(10, 5) is False
    assert hours.mostly_organised(10.1, 5) is True
    assert hours.mostly_organised(10, 0) is None

import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.stats import load

pytestmark = pytest.mark.once

# Recomputed from the definitions of Foster 1998, Med. Sci. Sports Exerc. 30(7):1164-1168, with the
# sample's standard deviation; no worked week of seven numbers is published.
WEEKS = [
    ([300, 525, 0, 540, 135, 640, 0], 2140, 305.714, 267.962, 1.1409, 2441.5),
    ([300] * 6 + [0], 1800, 257.143, 113.389, 2.2678, 4082.0),
]


@pytest.mark.parametrize(("days", "total", "mean", "sd", "monotony", "strain"), WEEKS)
def test_a_worked_week(days, total, mean, sd, monotony, strain):
    found = load.week(days)
    assert found.total == total
    assert found.mean == pytest.approx(mean, abs=5e-4)
    assert found.sd == pytest.approx(sd, abs=5e-4)
    assert found.monotony == pytest.approx(monotony, abs=5e-5)
    assert found.strain == pytest.approx(strain, abs=0.06)


@pytest.mark.parametrize("same", [0, 300, 0.1])
def test_equal_days_have_no_monotony(same):
    found = load.week([same] * 7)
    assert (found.sd, found.monotony, found.strain) == (0, None, None)
    assert found.total == pytest.approx(7 * same)


@pytest.mark.parametrize("training_days", range(1, 7))
@given(same=st.integers(1, 2_000))
def test_equal_training_days_by_the_closed_form(training_days, same):
    k = training_days
    found = load.week([same] * k + [0] * (7 - k))
    assert found.monotony == pytest.approx(math.sqrt(6 * k / (7 * (7 - k))))


@given(
    st.lists(st.integers(0, 3_000), min_size=7, max_size=7).filter(lambda days: len(set(days)) > 1)
)
def test_any_week_against_the_standard_library(days):
    found = load.week(days)
    assert found.sd == pytest.approx(statistics.stdev(days))
    assert found.strain == pytest.approx(
        sum(days) * statistics.fmean(days) / statistics.stdev(days)
    )


@pytest.mark.parametrize("days", [[], [1] * 6, [1] * 8, [-1] + [0] * 6, [math.nan] * 7])
def test_what_is_no_week_is_refused(days):
    with pytest.raises(ValueError, match=r"days|load"):
        load.week(days)


def test_load_of_one_workout():
    assert load.session(6, 45) == 270
    assert load.session(0, 45) == 0
    assert load.session(None, 45) is load.session(6, None) is None

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.stats.court import zone
from devplans.stats.court_lines import COURTS
from devplans.stats.court_spots import BY_DRILL, FIVE, REACH, spot_of, spots_of

ALL = sorted(COURTS)


@pytest.mark.parametrize("rules", ALL)
def test_each_of_the_five_spots_lies_in_the_zone_of_its_name(rules):
    spots = spots_of("five-spot-shooting", rules=rules)
    assert [spot.name for spot in spots] == list(FIVE)
    assert [zone(spot.x_mm, spot.y_mm, rules=rules).name for spot in spots] == list(FIVE)
    assert [-spot.x_mm for spot in reversed(spots)] == [spot.x_mm for spot in spots]


def test_free_throws_are_shot_from_the_line_and_other_drills_from_anywhere():
    (line,) = spots_of("free-throw-sets", rules="fiba")
    assert (line.x_mm, line.y_mm) == (0, 4225)
    assert spots_of("two-foot-power-layups", rules="fiba") == ()
    with pytest.raises(ValueError, match="no court"):
        spots_of("free-throw-sets", rules="streetball")


@pytest.mark.parametrize("old", ALL)
@pytest.mark.parametrize("new", ALL)
@pytest.mark.parametrize("drill", sorted(BY_DRILL))
def test_a_shot_keeps_its_spot_when_the_lines_change(old, new, drill):
    now = spots_of(drill, rules=new)
    for spot in spots_of(drill, rules=old):
        found = spot_of(spot.x_mm, spot.y_mm, now)
        assert found is not None
        assert found.name == spot.name


@given(
    x=st.integers(-7_600, 7_600),
    y=st.integers(-1_600, 26_000),
    rules=st.sampled_from(ALL),
)
def test_a_shot_and_its_mirror_image_belong_to_mirrored_spots(x, y, rules):
    spots = spots_of("five-spot-shooting", rules=rules)
    found, mirrored = spot_of(x, y, spots), spot_of(-x, y, spots)
    if found is None or mirrored is None:
        assert found is mirrored is None
        return
    assert (found.x_mm - x) ** 2 + (found.y_mm - y) ** 2 <= REACH**2
    if x:
        assert (mirrored.x_mm, mirrored.y_mm) == (-found.x_mm, found.y_mm)


def test_no_spots_no_spot():
    assert spot_of(0, 0, ()) is None

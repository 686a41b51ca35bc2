import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from devplans.stats.court import ZONES, zone
from devplans.stats.court_lines import COURTS, court_lines

pytestmark = pytest.mark.once

METRE, FOOT = 1000.0, 304.8

# (rules, unit, x, y, points, name, in key, restricted). Worked from the rule books' sizes: FIBA OBR
# Art. 2; NBA Rule 1; the NCAA's court diagram of 17 June 2019; NFHS Rule 1.
PLACES = [
    ("fiba", METRE, 6.59, 0, 2, "mid-right", False, False),
    ("fiba", METRE, 6.60, 0, 2, "mid-right", False, False),
    ("fiba", METRE, 6.61, 0, 3, "corner-right", False, False),
    ("fiba", METRE, -6.61, 0, 3, "corner-left", False, False),
    ("fiba", METRE, 6.65, 0, 3, "corner-right", False, False),
    ("fiba", METRE, 6.59, -1.50, 2, "mid-right", False, False),
    ("fiba", METRE, 6.62, -1.50, 3, "corner-right", False, False),
    ("fiba", METRE, 6.60, -1.60, None, "out", False, False),
    ("fiba", METRE, 6.61, 1.41, 3, "corner-right", False, False),
    ("fiba", METRE, 6.59, 1.43, 2, "mid-right", False, False),
    ("fiba", METRE, 0, 6.74, 2, "mid-middle", False, False),
    ("fiba", METRE, 0, 6.75, 2, "mid-middle", False, False),
    ("fiba", METRE, 0, 6.76, 3, "top", False, False),
    ("fiba", METRE, 4.77, 4.77, 2, "mid-right", False, False),
    ("fiba", METRE, 4.78, 4.78, 3, "wing-right", False, False),
    ("fiba", METRE, 2.45, 4.00, 2, "key", True, False),
    ("fiba", METRE, 2.46, 4.00, 2, "mid-right", False, False),
    ("fiba", METRE, 0, 4.225, 2, "key", True, False),
    ("fiba", METRE, 0, 4.23, 2, "mid-middle", False, False),
    ("fiba", METRE, 0, 1.25, 2, "restricted", True, True),
    ("fiba", METRE, 0, 1.26, 2, "key", True, False),
    ("fiba", METRE, 7.50, 0, 3, "corner-right", False, False),
    ("fiba", METRE, 7.51, 0, None, "out", False, False),
    ("fiba", METRE, 0, 12.425, 3, "top", False, False),
    ("fiba", METRE, 0, 12.43, 3, "backcourt", False, False),
    ("nba", FOOT, 21.99, 0, 2, "mid-right", False, False),
    ("nba", FOOT, 22.01, 0, 3, "corner-right", False, False),
    ("nba", FOOT, 21.90, 9.00, 2, "mid-right", False, False),
    ("nba", FOOT, 21.90, 9.30, 3, "wing-right", False, False),
    ("nba", FOOT, 0, 23.75, 2, "mid-middle", False, False),
    ("nba", FOOT, 0, 23.76, 3, "top", False, False),
    ("nba", FOOT, 16.75, 16.75, 2, "mid-right", False, False),
    ("nba", FOOT, 16.80, 16.80, 3, "wing-right", False, False),
    ("nba", FOOT, 8.00, 10, 2, "key", True, False),
    ("nba", FOOT, 8.01, 10, 2, "mid-right", False, False),
    ("nba", FOOT, 0, 13.75, 2, "key", True, False),
    ("nba", FOOT, 0, 13.76, 2, "mid-middle", False, False),
    ("nba", FOOT, 0, 4.00, 2, "restricted", True, True),
    ("nba", FOOT, 0, 4.01, 2, "key", True, False),
    ("nba", FOOT, 21.99, -5.00, 2, "mid-right", False, False),
    ("ncaa", FOOT, 21.65, 0, 2, "mid-right", False, False),
    ("ncaa", FOOT, 21.66, 0, 3, "corner-right", False, False),
    ("ncaa", FOOT, 21.60, 4.70, 2, "mid-right", False, False),
    ("ncaa", FOOT, 21.60, 4.90, 3, "wing-right", False, False),
    ("ncaa", FOOT, 6.00, 10, 2, "key", True, False),
    ("ncaa", FOOT, 6.01, 10, 2, "mid-right", False, False),
    ("nfhs", FOOT, 19.75, 0, 2, "mid-right", False, False),
    ("nfhs", FOOT, 19.76, 0, 3, "corner-right", False, False),
    ("nfhs", FOOT, 19.30, -5.00, 2, "mid-right", False, False),
    ("nfhs", FOOT, 19.70, 1.00, 2, "mid-right", False, False),
    ("nfhs", FOOT, 19.70, 1.50, 3, "wing-right", False, False),
    ("nfhs", FOOT, 13.96, 13.96, 2, "mid-right", False, False),
    ("nfhs", FOOT, 13.97, 13.97, 3, "wing-right", False, False),
    # One spot, four rule sets.
    ("fiba", METRE, 0, 6.70, 2, "mid-middle", False, False),
    ("ncaa", METRE, 0, 6.70, 2, "mid-middle", False, False),
    ("nba", METRE, 0, 6.70, 2, "mid-middle", False, False),
    ("nfhs", METRE, 0, 6.70, 3, "top", False, False),
]


@pytest.mark.parametrize("rounded", [True, False], ids=["whole", "broken"])
@pytest.mark.parametrize(
    ("rules", "unit", "x", "y", "points", "name", "in_key", "restricted"), PLACES
)
def test_places_of_the_rule_books(rules, unit, x, y, points, name, in_key, restricted, rounded):
    place = (x * unit, y * unit)
    found = zone(*(map(round, place) if rounded else place), rules=rules)
    assert (found.points, found.name) == (points, name)
    assert (found.in_key, found.restricted) == (in_key, restricted)


on_court = st.tuples(st.integers(-8_000, 8_000), st.integers(-1_700, 27_500))


@given(st.sampled_from(sorted(COURTS)), on_court)
def test_both_sides_of_the_court_are_the_same(rules, place):
    x, y = place
    found, mirrored = zone(x, y, rules=rules), zone(-x, y, rules=rules)
    assume(x != 0)
    assert found.name in ZONES
    turned = {"left": "right", "right": "left"}
    first, _, last = found.name.rpartition("-")
    assert mirrored.name == (f"{first}-{turned.get(last, last)}" if first else found.name)
    assert (found.points, found.in_key, found.restricted) == (
        mirrored.points,
        mirrored.in_key,
        mirrored.restricted,
    )


@given(
    st.sampled_from(sorted(COURTS)),
    st.floats(0, math.pi, allow_nan=False),
    st.lists(st.integers(0, 14_000), min_size=2, max_size=8),
)
def test_walking_away_from_the_ring_never_turns_a_three_into_a_two(rules, angle, steps):
    points = []
    for far in sorted(steps):
        found = zone(far * math.cos(angle), far * math.sin(angle), rules=rules).points
        points.append(4 if found is None else found)
    assert points == sorted(points)


@given(st.sampled_from(sorted(COURTS)), on_court, on_court)
def test_points_change_only_at_a_line(rules, near, far):
    """Between two places of different worth, where the change is (to 2 mm) there is a line."""
    worth = zone(*near, rules=rules).points
    assume(zone(*far, rules=rules).points != worth)
    while max(abs(near[0] - far[0]), abs(near[1] - far[1])) > 1:
        middle = ((near[0] + far[0]) // 2, (near[1] + far[1]) // 2)
        if zone(*middle, rules=rules).points == worth:
            near = middle
        else:
            far = middle
    (x, y), lines = near, court_lines(rules)
    gaps = [
        abs(math.hypot(x, y) - lines.arc),
        abs(abs(x) - lines.corner),
        abs(abs(x) - lines.width / 2),
        abs(y + lines.baseline),
        abs(y - (lines.length - lines.baseline)),
    ]
    assert min(gaps) <= 2


@given(st.sampled_from(sorted(COURTS)), on_court)
def test_what_is_restricted_or_in_the_key_is_worth_two(rules, place):
    found = zone(*place, rules=rules)
    if found.in_key or found.restricted:
        assert found.points == 2
    assert found.restricted is (found.name == "restricted")


ALL = sorted(COURTS)
STEP = 1


@pytest.mark.parametrize("rules", ALL)
@pytest.mark.parametrize("side", [-1, 1])
def test_on_the_line_is_a_two_and_a_millimetre_past_it_is_a_three(rules, side):
    lines = court_lines(rules)
    for y in (-lines.baseline, -1, 0, math.floor(lines.arc_break)):
        assert zone(side * lines.corner, y, rules=rules).points == 2
        past = zone(side * (lines.corner + STEP), y, rules=rules)
        assert (past.points, past.name) == (3, f"corner-{'right' if side > 0 else 'left'}")
    assert zone(0, lines.arc, rules=rules).points == 2
    assert zone(0, lines.arc + STEP, rules=rules).name == "top"
    half = lines.width // 2
    assert zone(side * half, 0, rules=rules).points == 3
    assert zone(side * (half + STEP), 0, rules=rules).name == "out"
    assert zone(0, -lines.baseline, rules=rules).points == 2
    assert zone(0, -lines.baseline - STEP, rules=rules).name == "out"


@pytest.mark.parametrize("rules", ALL)
def test_where_the_straight_line_meets_the_arc_nothing_jumps(rules):
    """Just below the break the straight line decides, just above it the arc: both are within 2 mm
    of each other there, so that no place is lost or won by which of them is asked."""
    lines = court_lines(rules)
    y = lines.arc_break
    assert math.hypot(lines.corner, y) == pytest.approx(lines.arc, abs=1e-6)
    for x in (lines.corner - 2, lines.corner + 2):
        below, above = (zone(x, y + step, rules=rules) for step in (-1, 1))
        assert below.points == above.points == (2 if x < lines.corner else 3)


@given(st.sampled_from(ALL), st.integers(-7_400, 7_400), st.integers(0, 1_600))
def test_behind_the_ring_only_the_corner_line_counts(rules, x, behind):
    """However far from the ring: behind it the arc gives nobody a three."""
    lines = court_lines(rules)
    y = -min(behind, lines.baseline)
    found = zone(x, y, rules=rules)
    assert found.points == (3 if abs(x) > lines.corner else 2)


@given(st.sampled_from(ALL), st.integers(-7_400, 7_400), st.floats(0, 1))
def test_beyond_half_court_is_backcourt_and_a_three_to_the_far_line(rules, x, far):
    lines = court_lines(rules)
    half, end = lines.half_length - lines.baseline, lines.length - lines.baseline
    assert zone(x, half, rules=rules).name in {"top", "wing-left", "wing-right"}
    found = zone(x, half + 1 + far * (end - half - 1), rules=rules)
    assert (found.name, found.points) == ("backcourt", 3)
    assert zone(x, end + STEP, rules=rules).points is None


@given(st.sampled_from(ALL), st.floats(allow_nan=True), st.floats(allow_nan=True))
def test_any_numbers_are_a_zone_or_refused(rules, x, y):
    if not (math.isfinite(x) and math.isfinite(y)):
        with pytest.raises(ValueError, match="no place"):
            zone(x, y, rules=rules)
        return
    found = zone(x, y, rules=rules)
    assert found.name in ZONES
    assert (found.points is None) == (found.name == "out")


@given(st.sampled_from(ALL), on_court)
def test_a_place_in_whole_millimetres_is_the_same_as_a_number_with_a_point(rules, place):
    x, y = place
    assert zone(x, y, rules=rules) == zone(float(x), float(y), rules=rules)


def test_between_the_legs_under_the_board_is_restricted():
    # FIBA OBR Art. 2: straight lines of 375 mm join the arc's ends to the board's plane.
    assert zone(1_250, -375, rules="fiba").restricted
    assert not zone(1_250, -376, rules="fiba").restricted
    assert not zone(0, 500, rules="nfhs").restricted


@pytest.mark.parametrize("place", [(math.nan, 0), (0, math.inf)])
def test_what_is_no_place_is_refused(place):
    with pytest.raises(ValueError, match="no place"):
        zone(*place, rules="fiba")


def test_an_unknown_rule_set_is_refused():
    with pytest.raises(ValueError, match="no court"):
        zone(0, 0, rules="park")

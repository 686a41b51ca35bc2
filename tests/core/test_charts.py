"""Places of marks, and that they come out at those pixels of the PNG."""

import io
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from devplans.core import charts, charts_png, charts_scale
from devplans.stats.proportions import wilson_interval

pytestmark = pytest.mark.once
SCALE = charts_png.WIDTH / charts_png.LAYOUT
INNER = charts_png.LAYOUT - 2 * charts_png.EDGE


def opened(name, chart, **more) -> Image.Image:
    return Image.open(io.BytesIO(charts_png.png(name, chart, **more))).convert("RGB")


def pixel(x_percent: float, y: float) -> tuple[int, int]:
    """Where a place of the chart lies in the PNG."""
    x = charts_png.EDGE + INNER * x_percent / 100
    return round(x * SCALE), round((charts_png.EDGE + y) * SCALE)


def colour(theme: str, name: str) -> tuple[int, int, int]:
    text = charts_png.TOKENS[theme][name]
    return tuple(int(text[at : at + 2], 16) for at in (1, 3, 5))


# --- places ----------------------------------------------------------------


@given(st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_a_whisker_holds_its_mark_on_the_scale(count):
    made, tried = count
    found = charts_scale.whisker(made, tried)
    assert (found.low, found.high) == wilson_interval(made, tried)
    assert 3 <= found.left <= found.at <= found.right <= 97
    assert found.at == pytest.approx(3 + 94 * made / tried, abs=0.00501)


@pytest.mark.parametrize(
    ("share", "place"), [(0, 3), (0.5, 50), (1, 97), (-0.2, 3), (1.4, 97), (0.75, 73.5)]
)
def test_the_scale_is_fixed_and_held_at_its_ends(share, place):
    assert charts_scale.place_of(share) == place


@pytest.mark.parametrize(
    ("share", "said"),
    [(0, 0), (0.001, 1), (0.004, 1), (0.125, 13), (0.5, 50), (0.996, 99), (0.999, 99), (1, 100)],
)
def test_only_none_is_said_as_0_and_only_all_as_100(share, said):
    assert charts_scale.percent(share) == said


@pytest.mark.parametrize(("made", "tried"), [(3, 2), (-1, 4)])
def test_what_is_no_share_is_refused(made, tried):
    with pytest.raises(ValueError, match="no share"):
        charts.share(made=made, tried=tried)


def test_bars_are_as_high_as_their_minutes_on_a_scale_of_whole_hours():
    drawn = charts.minutes([("46", 60, 0), ("47", 120, 30)])
    full = charts.MINUTES_FLOOR - charts.MINUTES_TOP
    assert drawn.hours == 2
    assert [bar.organised_height for bar in drawn.bars] == [full / 2, full]
    assert [bar.own_height for bar in drawn.bars] == [0, full / 4]
    assert [bar.is_last for bar in drawn.bars] == [False, True]


@pytest.mark.parametrize(
    ("most", "limit", "hours"),
    [
        (0, None, 2),
        (120, None, 2),
        (121, None, 4),
        (0, 600, 10),
        (150, 600, 10),
        (700, 600, 12),
        (10080, 840, 168),
    ],
)
def test_the_scale_holds_the_longest_bar_and_the_limit(most, limit, hours):
    drawn = charts.minutes([("1", most, 0)], limit=limit)
    assert drawn.hours == hours
    assert (drawn.limit_y is None) == (limit is None)
    assert limit is None or charts.MINUTES_TOP <= drawn.limit_y <= charts.MINUTES_FLOOR
    assert drawn.bars[0].organised_top >= charts.MINUTES_TOP


def test_a_limit_far_above_the_bars_leaves_them_their_height():
    drawn = charts.minutes([("1", 180, 40)], limit=840)
    assert (drawn.hours, drawn.limit, drawn.limit_y) == (4, 840, None)


@pytest.mark.parametrize("weeks", [[("1", -1, 0)], [("1", 10_081, 0)]])
def test_minutes_that_no_week_has_are_refused(weeks):
    with pytest.raises(ValueError, match="minutes"):
        charts.minutes(weeks)


@given(st.integers(1, 60))
def test_bars_never_touch_the_next_week(count):
    drawn = charts.minutes([(str(n), 60, 60) for n in range(count)]).bars
    assert all(bar.organised_x >= 0 for bar in drawn)
    assert drawn[-1].own_x + drawn[-1].width <= 100.01
    for bar, following in pairwise(drawn):
        assert bar.own_x + bar.width < following.organised_x


@given(st.lists(st.text("0123456789 Nov", min_size=1, max_size=6), min_size=1, max_size=60))
def test_labels_have_room_on_the_narrowest_screen_and_the_last_one_stands(labels):
    slot = charts_scale.NARROW / len(labels)
    shown = [index for index, stands in enumerate(charts_scale.labelled(labels, slot)) if stands]
    assert shown[-1] == len(labels) - 1
    longest = max(map(len, labels))
    for left, right in pairwise(shown):
        assert (right - left) * slot >= charts_scale.LABEL_GAP + charts_scale.LABEL_LETTER * longest


@pytest.mark.parametrize(
    ("most", "top"), [(0, 10), (10, 10), (11, 20), (21, 50), (100, 100), (101, 200), (777, 1000)]
)
def test_counts_stand_on_round_scales(most, top):
    assert charts.round_top(most) == top


def test_strips_of_other_lengths_are_refused():
    with pytest.raises(ValueError, match="not one value"):
        charts.strips([charts.Strip("Gym", counts=(1, 2))], ["1"])


# --- pixels ----------------------------------------------------------------


@pytest.mark.parametrize("theme", ["paper", "night"])
@pytest.mark.parametrize(("made", "tried"), [(0, 10), (9, 16), (50, 100), (10, 10)])
def test_the_mark_is_at_its_pixel_and_the_whisker_ends_at_its_own(theme, made, tried):
    picture = opened("share", charts.share(made=made, tried=tried), theme=theme)
    ink, found = colour(theme, "ink"), charts_scale.whisker(made, tried)
    row = [picture.getpixel((x, pixel(0, 14)[1])) for x in range(picture.width)]
    inked = [x for x, seen in enumerate(row) if seen == ink]
    dot = 5.5 * SCALE
    left = min(pixel(found.left, 0)[0], pixel(found.at, 0)[0] - dot)
    right = max(pixel(found.right, 0)[0], pixel(found.at, 0)[0] + dot)
    # Ends are two layout units wide, half of which lies beyond their place.
    assert inked[0] == pytest.approx(left, abs=1.1 * SCALE)
    assert inked[-1] == pytest.approx(right, abs=1.1 * SCALE)
    column = [picture.getpixel((pixel(found.at, 0)[0], y)) for y in range(picture.height)]
    middle = [y for y, seen in enumerate(column[: pixel(0, 24)[1]]) if seen == ink]
    assert sum(middle[:: len(middle) - 1]) / 2 == pytest.approx(pixel(0, 14)[1], abs=1)
    assert len(middle) >= 2 * 5.5 * SCALE - 2


def test_the_notch_is_at_the_target():
    picture = opened("share", charts.share(made=9, tried=16, target=0.75))
    accent = colour("paper", "hardwood")
    row = [x for x in range(picture.width) if picture.getpixel((x, pixel(0, 2)[1])) == accent]
    assert sum(row) / len(row) == pytest.approx(pixel(73.5, 0)[0], abs=1.5)


def test_bars_reach_from_the_floor_to_their_minutes():
    chart = charts.minutes([("46", 60, 30), ("47", 120, 0)])
    picture, ink = opened("minutes", chart), colour("paper", "ink")
    for bar in chart.bars:
        x, _ = pixel(bar.organised_x + bar.width / 2, 0)
        column = [y for y in range(picture.height) if picture.getpixel((x, y)) == ink]
        assert column[0] == pytest.approx(pixel(0, bar.organised_top)[1], abs=1.5)
    own = chart.bars[0]
    middle = pixel(own.own_x + own.width / 2, own.own_top + own.own_height / 2)
    assert picture.getpixel(middle) == colour("paper", "ground")


def test_a_dot_of_a_series_is_at_its_share():
    chart = charts.series([charts.Point("1", 8, 10), charts.Point("2", 1, 4)])
    picture, ink = opened("series", chart), colour("paper", "ink")
    for spot, share in zip(chart.panels[0].spots, (0.8, 0.25), strict=True):
        assert spot.y == pytest.approx(8 + 72 * (1 - share))
        assert picture.getpixel(pixel(spot.x, spot.y)) == ink


EVERY = {
    "share": charts.share(made=9, tried=16, old_made=5, old_tried=15, target=0.75),
    "minutes": charts.minutes([(str(n), 40 * n, 15 * n) for n in range(40, 48)], limit=600),
    "series": charts.series([charts.Point(str(n), n % 7, 20) for n in range(1, 13)], name="Film"),
    "beside": charts.strips(
        [
            charts.Strip(
                "On film, %", shares=tuple(charts.Point(str(n), 5 + n, 24) for n in range(16))
            ),
            charts.Strip(
                "Gym: made, %", shares=tuple(charts.Point(str(n), n, 40) for n in range(16))
            ),
            charts.Strip("Gym: reps and tries", counts=tuple(range(0, 160, 10))),
        ],
        [str(n) for n in range(16)],
    ),
}


@pytest.mark.parametrize("theme", ["paper", "night"])
@pytest.mark.parametrize("name", EVERY)
def test_a_picture_for_mails_is_opaque_small_and_twice_600_wide(name, theme):
    raw = charts_png.png(name, EVERY[name], theme=theme)
    picture = Image.open(io.BytesIO(raw))
    assert len(raw) < 20_000
    assert picture.width == 1200
    assert picture.convert("RGBA").getextrema()[3] == (255, 255)
    assert picture.convert("RGB").getpixel((1, 1)) == colour(theme, "ground")


@pytest.mark.parametrize("name", EVERY)
def test_nothing_is_cut_off_at_the_edges_of_a_picture(name):
    picture, ground = opened(name, EVERY[name]), colour("paper", "ground")
    edge = [(x, y) for x in range(picture.width) for y in (0, 1, picture.height - 1)]
    edge += [(x, y) for y in range(picture.height) for x in (0, 1, picture.width - 1)]
    assert {picture.getpixel(place) for place in edge} == {ground}


def test_text_keeps_eleven_pixels_where_a_phone_shows_the_picture():
    smallest_mail = 320 - 2 * 16
    assert 13 * smallest_mail / charts_png.LAYOUT >= 11


def test_nothing_tried_is_no_picture():
    with pytest.raises(ValueError, match="nothing was tried"):
        charts_png.png("share", charts.share(made=0, tried=0))

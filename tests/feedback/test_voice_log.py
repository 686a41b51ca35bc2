"""The log of what the film did while somebody talked, and what is drawn at each of its moments."""

import json
import math
from contextlib import suppress
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from devplans.feedback.voices import strokes
from devplans.feedback.voices.log import BadLog, Log, Stretch, Stroke, read_log, written

pytestmark = pytest.mark.once
LAST = 20_000
some = settings(max_examples=40)
fractions = st.integers(0, 10_000).map(lambda one: one / 10_000)
rates = st.sampled_from([0, 0.25, 0.5, 1, 1.5, 2, 4])


@st.composite
def shapes(draw, kinds=("arrow", "line", "freehand", "area", "circle", "text")):
    kind = draw(st.sampled_from(kinds))
    count = {"circle": (2, 2), "text": (1, 1), "area": (3, 8)}.get(kind, (2, 12))
    points = draw(
        st.lists(st.tuples(fractions, fractions), min_size=count[0], max_size=count[1], unique=True)
    )
    shape = {"kind": kind, "points": [list(one) for one in points]}
    shape |= {"colour": "mint", "stroke": "solid"}
    return shape | ({"text": "Feet first"} if kind == "text" else {})


@st.composite
def entries(draw):
    """What a page may have kept, in the order of its times."""
    found = []
    for at in sorted(draw(st.lists(st.integers(0, LAST), max_size=14))):
        what = draw(st.sampled_from(["film", "film", "shape", "clear"]))
        if what == "film":
            found.append({"at": at, "film_ms": draw(st.integers(0, 90_000)), "rate": draw(rates)})
        elif what == "shape":
            until = at + draw(st.integers(0, 3_000))
            found.append({"at": at, "until": until, "shape": draw(shapes())})
        else:
            found.append({"at": at, "clear": True})
    return found


logs = entries().map(read_log)


@some
@given(entries())
def test_what_is_written_is_read_again(value):
    log = read_log(value)
    again = read_log(json.loads(json.dumps(written(log))))
    assert again.stretches == log.stretches
    for moment in range(0, LAST + 4_000, 250):
        assert strokes.shown_at(again, moment) == strokes.shown_at(log, moment)


@some
@given(logs, st.integers(0, LAST), st.integers(1, LAST))
def test_a_part_is_the_same_film_and_the_same_drawing_from_zero(log, start, length):
    part = log.cut(start, start + length)
    assert part.stretches[0].at_ms == 0
    # Within the part: it ends before `length`.
    for moment in {0, min(1, length - 1), length // 3, length // 2, length - 1}:
        assert abs(part.film_at(moment) - log.film_at(start + moment)) <= 1
        wanted = {repr(one) for one in strokes.shown_at(log, start + moment)}
        found = {repr(one) for one in strokes.shown_at(part, moment)}
        growing = any(one.at_ms < start < one.until_ms for one in log.strokes)
        assert found == wanted or growing


@some
@given(logs, st.integers(0, LAST), st.integers(1, LAST), st.integers(0, 1_000))
def test_a_part_of_a_part_is_that_part_of_the_whole(log, start, length, inner):
    twice = log.cut(start, start + length).cut(min(inner, length - 1), length)
    once = log.cut(start + min(inner, length - 1), start + length)
    for moment in range(0, length - min(inner, length - 1), 97):
        assert abs(twice.film_at(moment) - once.film_at(moment)) <= 1


@some
@given(logs, st.integers(0, LAST), st.integers(1, 5_000))
def test_the_span_holds_all_that_was_on_screen(log, start, length):
    first, last = log.film_span(start, start + length)
    for moment in range(start, start + length + 1, max(1, length // 40)):
        assert first - 1 <= log.film_at(moment) <= last + 1


@some
@given(logs)
def test_the_film_runs_at_its_rate_and_only_forward_within_a_stretch(log):
    bounds = [one.at_ms for one in log.stretches[1:]] + [LAST + 2_000]
    for one, end in zip(log.stretches, bounds, strict=False):
        seen = [log.film_at(moment) for moment in range(one.at_ms, end, 200)]
        assert seen == sorted(seen)
        for number, film_ms in enumerate(seen):
            assert abs(film_ms - (one.film_ms + number * 200 * one.rate)) <= 1


@some
@given(logs, st.integers(500, LAST))
def test_changes_tell_the_drawing_of_every_moment(log, length):
    told = list(strokes.changes(log, length))
    assert [moment for moment, _ in told] == sorted({moment for moment, _ in told})
    shown, at = [], 0
    for moment, drawn in [*told, (length, None)]:
        # Between two changes nothing but a growing stroke may differ, and that by one step; a first
        # change at 0 has nothing before it.
        for between in {at, (at + moment) // 2, moment - 1} if at < moment else ():
            now = strokes.shown_at(log, between)
            assert abs(len(now) - len(shown)) <= sum(
                one.shape["kind"] == "freehand" and one.at_ms <= between < one.until_ms
                for one in log.strokes
            )
        shown, at = drawn, moment


@some
@given(shapes(kinds=("freehand",)), st.floats(0, 1), st.floats(0, 1))
def test_a_stroke_grows_along_itself(shape, one, other):
    def length(points):
        return sum(math.dist(a, b) for a, b in pairwise(points))

    points = shape["points"]
    less, more = sorted((one, other))
    short, longer = strokes.first_part(points, less), strokes.first_part(points, more)
    assert short[0] == longer[0] == points[0]
    assert length(short) == pytest.approx(length(points) * less, abs=1e-9)
    assert length(short) <= length(longer) + 1e-9
    assert short[:-1] == points[: len(short) - 1]


def test_shapes_come_when_they_are_finished_and_go_when_they_are_wiped_off():
    line = {"kind": "line", "points": [[0, 0], [1, 1]], "colour": "sky", "stroke": "solid"}
    free = line | {"kind": "freehand", "points": [[0, 0.5], [1, 0.5]]}
    log = read_log(
        [
            {"at": 0, "film_ms": 0, "rate": 0},
            {"at": 1_000, "until": 1_400, "shape": line},
            {"at": 2_000, "until": 3_000, "shape": free},
            {"at": 4_000, "clear": True},
        ]
    )
    kinds = {
        moment: [one["kind"] for one in strokes.shown_at(log, moment)]
        for moment in (999, 1_399, 1_400, 2_000, 2_001, 3_999, 4_000)
    }
    assert kinds == {
        999: [], 1_399: [], 1_400: ["line"], 2_000: ["line"], 2_001: ["line", "freehand"],
        3_999: ["line", "freehand"], 4_000: [],
    }  # fmt: skip
    assert strokes.shown_at(log, 2_250)[1]["points"][-1] == pytest.approx([0.25, 0.5])


@pytest.mark.parametrize(
    "value",
    [
        None,
        {},
        [1],
        [{"at": -1, "film_ms": 0, "rate": 1}],
        [{"at": 0.5, "film_ms": 0, "rate": 1}],
        [{"at": True, "film_ms": 0, "rate": 1}],
        [{"at": 0, "film_ms": 0, "rate": 5}],
        [{"at": 0, "film_ms": 0, "rate": math.nan}],
        [{"at": 0, "film_ms": 0, "rate": -1}],
        [{"at": 0, "film_ms": 10**12, "rate": 1}],
        [{"at": 0, "shape": {"kind": "spiral"}}],
        [{"at": 5, "clear": True}, {"at": 4, "clear": True}],
        [{"at": 0}],
        [{"at": 0, "clear": True}] * 20_001,
    ],
)
def test_what_is_no_log_is_refused(value):
    with pytest.raises(BadLog):
        read_log(value)


@some
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(
                st.sampled_from(["at", "until", "film_ms", "rate", "shape", "clear", "kind"]), inner
            )
        ),
        max_leaves=12,
    )
)
def test_anything_at_all_is_a_log_or_is_refused(value):
    with suppress(BadLog):
        assert isinstance(read_log(value), Log)


def test_before_its_first_entry_a_log_stands_where_that_one_says():
    log = Log((Stretch(500, 4_000, 1.0),))
    assert [log.film_at(ms) for ms in (0, 499, 500, 700)] == [4_000, 4_000, 4_000, 4_200]
    assert Log(()).film_at(3) == 0
    assert log.cut(0, 1_000).film_at(0) == 4_000
    assert isinstance(log.cut(0, 300).stretches[0], Stretch)
    assert Stroke(0, 1, {}).gone_ms is None

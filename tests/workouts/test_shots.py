"""The shooting log: by zone, spot, drill and week, and the chart of it."""

import csv
import io
import random
import re
import time
from html import unescape

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from devplans.people.models import Club
from devplans.stats.court import zone
from devplans.stats.court_lines import COURTS
from devplans.stats.proportions import wilson_interval
from devplans.workouts.models import Shot
from devplans.workouts.shooting import counts, words
from devplans.workouts.shooting.counts import Counted, Taken
from portal import shot_figure
from tests import factories as make
from tests.workouts.shooting import log_shots, weeks_ago

RULES = sorted(COURTS)
WEEK = (2026, 50)
TOP = (0, 7_000)
CLOSE = (300, 600)
LINE = (0, 4_225)


@pytest.fixture
def spots(cast):
    return make.make_drill(slug="five-spot-shooting", name="Five-spot catch-and-shoot")


def page_of(cast, who="player", query=""):
    client = Client()
    client.force_login(getattr(cast, who))
    return client.get(f"/workouts/of/{cast.kid.pk}/shots/{query}")


def rows_of(answer):
    """Table caption -> row name -> (made of tried with its share, range)."""
    found = {}
    for table in re.findall(r"<table.*?</table>", answer.content.decode(), re.S):
        caption = words_in(re.search(r"<caption.*?</caption>", table, re.S)[0])
        body = table.split("<tbody>")[1]
        lines = {}
        for line in re.findall(r"<tr.*?</tr>", body, re.S):
            line = re.sub(r"<figure.*?</figure>", "", line, flags=re.S)
            name, *cells = [words_in(cell) for cell in re.findall(r"<t[hd].*?</t[hd]>", line, re.S)]
            lines[name] = tuple(cells)
        found[caption] = lines
    return found


def words_in(markup):
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", markup))).strip()


def text(answer):
    return words_in(answer.content.decode())


def many(place, made, tried):
    return [(*place, number < made) for number in range(tried)]


# --- counting ---

places = st.tuples(st.integers(-8_000, 8_000), st.integers(-2_000, 20_000), st.booleans())
taken = st.builds(
    lambda place, drill: Taken(*place, drill, WEEK),
    places,
    st.sampled_from(["", "five-spot-shooting", "free-throw-sets", "layups"]),
)
counted = st.builds(
    lambda made, missed, drill: Counted(made, made + missed, drill, WEEK),
    st.integers(0, 50), st.integers(0, 50), st.sampled_from(["five-spot-shooting", "layups"]),
)  # fmt: skip


@given(st.lists(taken), st.lists(counted), st.sampled_from(RULES))
def test_every_table_adds_up_to_what_was_logged(shots, sets, rules):
    made, tried = sum(shot.made for shot in shots), len(shots)
    zones = counts.by_zone(shots, rules)
    assert (sum(z.made for z in zones), sum(z.tried for z in zones)) == (made, tried)
    made, tried = made + sum(s.made for s in sets), tried + sum(s.tried for s in sets)
    for lines in (
        counts.by_drill(shots, sets),
        counts.by_week(shots, sets, [WEEK], WEEK),
        [counts.total(shots, sets)],
    ):
        assert (sum(x.made for x in lines), sum(x.tried for x in lines)) == (made, tried)
    for table in counts.by_spot(shots, rules):
        of_drill = [shot for shot in shots if shot.drill == table.drill]
        assert sum(line.tried for line in table.lines) == len(of_drill)


@given(st.lists(taken), st.sampled_from(RULES))
def test_zones_are_those_of_the_court_but_for_free_throws(shots, rules):
    for shot in shots:
        if shot.drill == "free-throw-sets":
            assert counts.zone_of(shot, rules) == "free-throw"
        else:
            assert counts.zone_of(shot, rules) == zone(shot.x_mm, shot.y_mm, rules=rules).name
    free = sum(shot.drill == "free-throw-sets" for shot in shots)
    out = sum(counts.zone_of(shot, rules) == "out" for shot in shots)
    assert sum(line.tried for line in counts.by_points(shots, rules)) == len(shots) - free - out


def test_every_zone_and_every_spot_has_a_name():
    assert set(counts.ORDER) <= set(words.ZONES)
    assert {"twos", "threes"} <= set(words.ZONES)


@pytest.mark.parametrize("rules", RULES)
def test_the_number_of_a_zone_stands_in_that_zone(rules):
    lines, seen = COURTS[rules], []
    for name in counts.ORDER:
        place = shot_figure.number_place(name, lines)
        if name in {"out", "backcourt"} or (name == "restricted" and lines.no_charge is None):
            continue
        if name != "free-throw":
            assert zone(*place, rules=rules).name == name
        seen.append(place)
    # Two numbers never stand on each other: 600 mm is a line of them.
    for place in seen:
        near = [o for o in seen if abs(o[0] - place[0]) < 1_800 and abs(o[1] - place[1]) < 600]
        assert near == [place]


@given(st.lists(st.tuples(st.integers(-7_000, 7_000), st.integers(-1_500, 9_000)), max_size=30))
def test_shots_from_one_place_lie_side_by_side(places):
    drawn = shot_figure.side_by_side(places + places[:1] * 12)
    assert drawn[: len(set(places))] == places or len(set(places)) < len(places)
    same = (
        [
            mark
            for mark, place in zip(drawn, places + places[:1] * 12, strict=True)
            if place == places[0]
        ]
        if places
        else []
    )
    for one in same:
        near = [o for o in same if (o[0] - one[0]) ** 2 + (o[1] - one[1]) ** 2 < 200**2]
        assert near == [one]


def test_marks_are_drawn_where_they_were_tapped():
    assert shot_figure.dots([(10, -20), (0, 0)]) == "M10 -20h0M0 0h0"
    assert shot_figure.crosses([(100, 200)]) == "M-50 50l300 300m-300 0l300 -300"


# --- the page ---


def test_made_and_tried_stand_beside_share_and_range(cast):
    log_shots(cast.kid, many(TOP, 12, 30) + many(CLOSE, 7, 10))
    tables = rows_of(page_of(cast))
    low, high = wilson_interval(12, 30)
    told = f"{100 * low:.0f}–{100 * high:.0f} %"
    assert tables["Made and tried by zone"] == {
        "Under the ring": ("7 of 10 70 %", "too few to tell"),
        "Top, three": ("12 of 30 40 %", told),
    }
    assert tables["Made and tried by points"]["All threes"] == ("12 of 30 40 %", told)
    assert f"between {100 * low:.0f} and {100 * high:.0f} percent" in page_of(cast).content.decode()


def test_another_rule_set_scores_the_old_shots_anew(cast):
    # Straight out at 6.70 m: a two by FIBA, NBA and NCAA lines, a three by NFHS ones.
    log_shots(cast.kid, many((0, 6_700), 5, 20))
    kept = list(Shot.objects.values_list())
    scored = {}
    for rules in RULES:
        Club.objects.filter(pk=cast.club.pk).update(rule_set=rules)
        answer = page_of(cast)
        scored[rules] = list(rows_of(answer)["Made and tried by zone"])
        assert f"{rules.upper()} lines" in text(answer)
    two, three = ["Mid-range, middle"], ["Top, three"]
    assert scored == {"fiba": two, "nba": two, "ncaa": two, "nfhs": three}
    assert list(Shot.objects.values_list()) == kept


def test_a_drill_with_spots_is_told_spot_by_spot(cast, spots):
    log_shots(cast.kid, [*many((-7_050, 0), 4, 5), *many(TOP, 1, 5), (0, 600, True)], drill=spots)
    log_shots(cast.kid, many(TOP, 3, 3))
    assert rows_of(page_of(cast))["Five-spot catch-and-shoot"] == {
        "Left corner": ("4 of 5 80 %", "too few to tell"),
        "Left wing": ("– nothing tried yet", ""),
        "Top": ("1 of 5 20 %", "too few to tell"),
        "Right wing": ("– nothing tried yet", ""),
        "Right corner": ("– nothing tried yet", ""),
        "Not at a spot": ("1 of 1 100 %", "too few to tell"),
    }


def test_free_throws_are_no_shots_from_the_key(cast):
    free = make.make_drill(slug="free-throw-sets", name="Free throws in tens")
    log_shots(cast.kid, many(LINE, 8, 10), drill=free)
    tables = rows_of(page_of(cast))
    assert list(tables["Made and tried by zone"]) == ["Free throws"]
    assert "Made and tried by points" not in tables


def test_sets_without_places_count_by_drill_and_the_page_says_so(cast, spots):
    make.make_workout(cast.kid, sets=[{"drill": spots, "made": 6, "tried": 10}])
    answer = page_of(cast)
    assert "Made and tried by zone" not in rows_of(answer)
    assert rows_of(answer)["Made and tried by drill"] == {
        "Five-spot catch-and-shoot": ("6 of 10 60 %", "too few to tell")
    }
    assert "10 tries were counted without a place" in text(answer)
    assert "No shot of this time has a place." in text(answer)
    # A set that has both its counts and its shots counts once.
    workout = log_shots(cast.kid, many(TOP, 2, 4), drill=spots)
    workout.sets.update(made=2, tried=4)
    tables = rows_of(page_of(cast))
    assert tables["Made and tried by drill"]["Five-spot catch-and-shoot"][0] == "8 of 14 57 %"
    assert "10 tries were counted without a place" in text(page_of(cast))


def test_weeks_go_back_as_far_as_asked_and_the_current_one_is_marked(cast):
    for ago in (0, 2, 8, 20):
        log_shots(cast.kid, many(TOP, 1, 2), started_at=weeks_ago(ago))
    for query, rows, tried in (("", 2, 4), ("?span=12", 3, 6), ("?span=season", 4, 8)):
        answer = page_of(cast, query=query)
        shown = rows_of(answer)["Made and tried by week, the latest first"]
        assert len(shown) == rows
        assert [("this week" in name) for name in shown] == [True] + [False] * (rows - 1)
        assert sum(int(cells[0].split()[2]) for cells in shown.values()) == tried


def test_kind_drill_and_side_narrow_it(cast, spots):
    other = make.make_drill(name="Pull-ups")
    log_shots(cast.kid, many(TOP, 1, 2), drill=spots, kind="organised")
    log_shots(cast.kid, many(TOP, 3, 4), drill=other, side="left")
    make.make_workout(cast.kid, sets=[{"drill": other, "made": 5, "tried": 8, "side": "right"}])
    log_shots(cast.kid, many(TOP, 1, 16))

    def total(query):
        return page_of(cast, query=query).context["log"].total.tried

    assert total("") == 30
    assert total("?kind=organised") == 2
    assert total("?kind=own") == 28
    assert total(f"?drill={other.pk}") == 12
    assert total("?side=left") == 4
    assert total(f"?side=right&drill={other.pk}&kind=own") == 8
    assert total("?kind=x&drill=y&side=z&span=forever") == 30
    assert "No shots like that" in text(page_of(cast, query=f"?drill={spots.pk}&side=left"))


def test_the_page_says_how_many_it_draws_and_how_many_lie_beyond(cast):
    beyond = (0, 13_000)
    log_shots(cast.kid, many(TOP, 40, 90) + many(beyond, 1, 3))
    page = text(page_of(cast))
    assert "Drawn: the latest" not in page
    assert "3 shots lie outside the half court: they are counted and not drawn." in page
    log_shots(cast.kid, many(CLOSE, 10, 20))
    page = text(page_of(cast))
    assert "Drawn: the latest 100 of 113; the numbers count all." in page
    assert "3 shots lie outside the half court" in page
    assert rows_of(page_of(cast))["Made and tried by zone"]["Beyond half court"][0] == "1 of 3 33 %"


def test_nothing_logged_and_nothing_lately_are_told_apart(cast, spots):
    assert "No shots yet" in text(page_of(cast))
    assert "Log a workout" in text(page_of(cast))
    assert "Log a workout" not in text(page_of(cast, "director"))
    log_shots(cast.kid, many(TOP, 1, 2), drill=spots, started_at=weeks_ago(10))
    assert "No shots in this time" in text(page_of(cast))
    assert "No shots in this time" not in text(page_of(cast, query="?span=12"))


def test_deleted_workouts_are_gone(cast):
    log_shots(cast.kid, many(TOP, 1, 2), deleted_at=weeks_ago(0))
    assert "No shots yet" in text(page_of(cast))


def test_the_file_holds_the_tables_and_no_formula(cast, spots):
    evil = make.make_drill(name="=1+1", slug="evil")
    log_shots(cast.kid, many(TOP, 12, 30), drill=spots)
    log_shots(cast.kid, many(CLOSE, 1, 2), drill=evil)
    client = Client()
    client.force_login(cast.guardian)
    answer = client.get(f"/workouts/of/{cast.kid.pk}/shots.csv")
    rows = list(csv.reader(io.StringIO(answer.content.decode())))
    low, high = wilson_interval(12, 30)
    assert ["zone", "Top, three", "12", "30", "0.4000", f"{low:.4f}", f"{high:.4f}"] in rows
    assert ["spot five-spot-shooting", "Left corner", "0", "0", "", "", ""] in rows
    assert any(row[1] == "'=1+1" for row in rows)
    assert rows[-1][:4] == ["all", "total", "13", "32"]


def season_of(player, drill, count):
    chance = random.Random(7)
    for number in range(count // 100):
        shots = [
            (chance.randint(-7_400, 7_400), chance.randint(-1_500, 9_000), chance.random() < 0.4)
            for _shot in range(100)
        ]
        log_shots(player, shots, drill=drill, started_at=weeks_ago(number % 12))


def test_three_thousand_shots_are_quick_and_take_no_more_queries(
    cast, spots, django_assert_max_num_queries, django_assert_num_queries
):
    season_of(cast.kid, spots, 100)
    make.make_workout(cast.kid, sets=[{"drill": spots, "made": 6, "tried": 10}])
    client = Client()
    client.force_login(cast.coach)
    url = f"/workouts/of/{cast.kid.pk}/shots/?span=12"
    client.get(url)
    with django_assert_max_num_queries(22) as few:
        client.get(url)
    season_of(cast.kid, spots, 2_900)
    with django_assert_num_queries(len(few)):
        began = time.perf_counter()
        answer = client.get(url)
        took = time.perf_counter() - began
    assert answer.context["log"].placed == 3_000
    assert len(answer.context["log"].drawn) == 100
    assert "Drawn: the latest 100 of 3000" in text(answer)
    assert len(answer.content) < 120_000
    assert took < 2


def test_lists_workouts_and_summaries_lead_there(cast):
    workout = log_shots(cast.kid, many(TOP, 1, 2))
    client = Client()
    client.force_login(cast.coach)
    for url in (
        f"/workouts/of/{cast.kid.pk}/",
        f"/workouts/{workout.pk}/",
        f"/progress/players/{cast.kid.pk}/",
    ):
        assert f"/workouts/of/{cast.kid.pk}/shots/" in client.get(url).content.decode(), url

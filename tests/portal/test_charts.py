"""The charts on pages: one drawing each, its numbers as text, words where there is nothing."""

import re
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from django.template import engines

from devplans.core import charts, charts_png
from tests.portal.test_components import words

pytestmark = pytest.mark.once
STYLES = Path("portal/static/portal")


def render(source: str, **context) -> str:
    return engines["django"].from_string(source).render(context)


def drawing(html: str) -> ElementTree.Element:
    return ElementTree.fromstring(re.search(r'<svg class="chart.*</svg>', html, re.S).group())


def percent(value: str) -> float:
    assert value.endswith("%")
    return float(value.rstrip("%"))


def places(made: int, tried: int) -> tuple[float, float, float]:
    svg = drawing(render("{% share_chart made=m tried=t %}", m=made, t=tried))
    group = next(g for g in svg.findall("g") if g.get("class") == "now")
    line, dot = group.find("line"), group.find("circle")
    return percent(line.get("x1")), percent(dot.get("cx")), percent(line.get("x2"))


# --- share -----------------------------------------------------------------


def test_whiskers_move_right_with_every_make_and_stay_on_the_scale():
    drawn = [places(made, 20) for made in range(21)]
    assert all(3 <= low <= at <= high <= 97 for low, at, high in drawn)
    for part in zip(*drawn, strict=True):
        assert list(part) == sorted(part)
        assert len(set(part)) == 21


def test_more_attempts_draw_a_shorter_whisker():
    widths = [high - low for low, _, high in (places(n // 2, n) for n in (10, 40, 160, 640))]
    assert widths == sorted(widths, reverse=True)


def test_the_target_is_a_notch_and_the_old_value_is_open_and_dashed():
    html = render(
        "{% share_chart made=9 tried=16 old_made=5 old_tried=15 target=0.75 label='Help' %}"
    )
    svg = drawing(html)
    notch = next(s for s in svg.findall("svg") if s.get("class") == "target")
    assert percent(notch.get("x")) == 73.5
    old = next(g for g in svg.findall("g") if g.get("class") == "old")
    assert old.find("line").get("stroke-dasharray")
    assert old.find("circle").get("fill") == "none"
    assert svg.get("role") == "img"
    assert svg.find("title").text == "Help: 9 of 16"
    said = svg.find("desc").text
    assert said == (
        "The long-run rate lies between 33 and 77 percent. It was 5 of 15. "
        "The target is 75 percent."
    )
    assert words(html).endswith("9 of 16 was 5 of 15 target 75 %")


def test_a_goals_standing_is_drawn_as_it_is():
    standing = SimpleNamespace(
        made=9, tried=16, low=0.4, high=0.7, target=0.75,
        start_made=5, start_tried=15, start_low=0.1, start_high=0.6,
    )  # fmt: skip
    svg = drawing(render("{% share_chart standing label='Help' %}", standing=standing))
    now, old = (
        next(g for g in svg.findall("g") if g.get("class") == part).find("line")
        for part in ("now", "old")
    )
    assert (percent(now.get("x1")), percent(now.get("x2"))) == (40.6, 68.8)
    assert (percent(old.get("x1")), percent(old.get("x2"))) == (12.4, 59.4)


@pytest.mark.parametrize("tried", [0, None])
def test_nothing_tried_is_a_dash_and_words_without_a_scale(tried):
    html = render("{% share_chart made=0 tried=t target=0.6 %}", t=tried)
    assert "<svg" not in html
    assert "–" in html
    assert words(html) == "no figure yet"


def test_what_it_was_is_said_where_nothing_was_tried_since():
    html = render("{% share_chart made=0 tried=0 old_made=5 old_tried=15 %}")
    assert words(html) == "no figure yet · was 5 of 15"


# --- minutes ---------------------------------------------------------------

WEEKS = [
    {"label": "46", "organised": 0, "own": 0},
    {"label": "47", "organised": 190, "own": 55},
]


def test_weeks_without_minutes_draw_no_bar_and_are_told():
    html = render("{% minutes_chart w whose='Runa' %}", w=WEEKS)
    bars = drawing(html).findall("rect")
    assert [bar.get("class") for bar in bars] == ["organised", "own ground-fill"]
    assert "open: Runa alone" in words(html)
    assert "46 0 min 0 min 47 3 h 10 min 55 min" in words(html)
    assert "published" not in html


def test_the_published_limit_is_a_line_with_its_words():
    html = render("{% minutes_chart w limit=600 %}", w=WEEKS)
    line = next(e for e in drawing(html).findall("line") if "limit" in e.get("class"))
    assert float(line.get("y1")) == charts.MINUTES_TOP
    assert "dashed: at most 10 h" in words(html)
    assert "dashed: published advice for the hours with the team" in words(html)


def test_no_weeks_are_an_empty_frame():
    assert drawing(render("{% minutes_chart w %}", w=[])).findall("rect") == []


# --- series ----------------------------------------------------------------


def points(*counts: tuple[int, int]) -> list[charts.Point]:
    return [charts.Point(str(40 + n), made, tried) for n, (made, tried) in enumerate(counts)]


def test_a_series_has_a_dot_for_each_week_with_tries_and_nothing_between_them():
    html = render("{% series_chart p label='Help' %}", p=points((9, 16), (0, 0), (12, 20)))
    svg = drawing(html)
    panel = svg.find("g")
    assert len([g for g in panel.findall("g") if g.get("class") == "spot"]) == 2
    assert not list(svg.iter("path"))
    assert not list(svg.iter("polyline"))
    assert svg.find("title").text == "Help"
    assert "41 nothing tried" in words(html)
    assert "40 9 of 16 33–77 %" in words(html)


def test_a_trend_is_a_dashed_line_between_the_first_and_the_last_dot():
    html = render("{% series_chart p trend=t %}", p=points(*[(9, 16)] * 6), t=(0.25, 1.2))
    line = next(e for e in drawing(html).iter("line") if "trend" in e.get("class", ""))
    assert float(line.get("y1")) == pytest.approx(8 + 72 * 0.75)
    assert float(line.get("y2")) == 8


def test_film_and_gym_stand_over_the_same_weeks():
    film = charts.Strip("On film, %", shares=tuple(points((9, 16), (12, 20))))
    gym = charts.Strip("Gym: reps", counts=(120, None))
    beside = SimpleNamespace(label="Help", labels=["40", "41"], strips=[film, gym])
    html = render("{% beside_chart b %}", b=beside)
    panels = [g for g in drawing(html).findall("g") if g.get("class") == "panel"]
    spots = [g.find("circle").get("cx") for g in panels[0].findall("g")]
    bar = panels[1].find("rect")
    assert len(spots) == 2
    middle = percent(bar.get("x")) + percent(bar.get("width")) / 2
    assert middle == pytest.approx(percent(spots[0]), abs=0.02)
    assert "Week On film, % Gym: reps 40 9 of 16 33–77 % 120 41" in words(html)


# --- all -------------------------------------------------------------------

EVERY = {
    "share": charts.share(made=9, tried=16, old_made=5, old_tried=15, target=0.75),
    "minutes": charts.minutes([("46", 190, 55), ("47", 60, 0)], limit=600),
    "series": charts.series(points((9, 16), (12, 20), (0, 3)), name="Film", trend=(0.5, 0.6)),
}


@pytest.mark.parametrize("name", EVERY)
def test_a_drawing_carries_no_style_and_no_script(name):
    svg = render("{% include file %}", file=f"charts/{name}.svg", chart=EVERY[name])
    assert not re.search(r"\bstyle=|<style|<script|\bon\w+=|href", svg)


@pytest.mark.parametrize("name", EVERY)
def test_what_a_drawing_is_called_is_escaped(name):
    html = render(
        "{% include file with label=label %}",
        file=f"charts/{name}.svg", chart=EVERY[name], label="<b>&",
    )  # fmt: skip
    assert "<b>" not in html


def test_mails_take_the_colours_that_pages_take():
    found = re.findall(r"--([a-z-]+): (#\w+);", (STYLES / "tokens.css").read_text())
    half = found.index(next(pair for pair in found[1:] if pair[0] == "ground"))
    for theme, pairs in (("paper", found[:half]), ("night", found[half:])):
        tokens = dict(pairs)
        assert {name: tokens[name] for name in charts_png.TOKENS[theme]} == charts_png.TOKENS[theme]


def test_mails_colour_the_same_classes_as_pages():
    page = (STYLES / "figures.css").read_text()
    mail = charts_png._style({name: f"var(--{name})" for name in charts_png.TOKENS["paper"]})
    for selector, rules in re.findall(r"([.\w-]+)\{([^}]*)\}", mail):
        block = re.search(rf"(?:^|\.chart ){re.escape(selector)} \{{([^}}]*)\}}", page, re.M)
        assert block, selector
        for rule in rules.split(";"):
            if not rule.startswith("font"):
                assert rule.replace(":", ": ", 1) in block[1], (selector, rule)

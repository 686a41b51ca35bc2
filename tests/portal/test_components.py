import re
from xml.etree import ElementTree

import pytest
from django import forms
from django.core.paginator import Paginator
from django.template import engines
from django.test import RequestFactory

from devplans.stats.court_lines import COURTS, court_lines
from devplans.stats.proportions import wilson_interval
from portal import figures

pytestmark = pytest.mark.once


def render(source: str, **context) -> str:
    return engines["django"].from_string(source).render(context)


def drawing(html: str) -> ElementTree.Element:
    return ElementTree.fromstring(re.search(r"<svg.*</svg>", html, re.S).group())


def words(html: str) -> str:
    """What a reader hears: without tags, and without what is hidden from him."""
    seen = re.sub(r"<span aria-hidden=\"true\">.*?</span>", "", html, flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", seen).split())


# --- verdicts --------------------------------------------------------------


@pytest.mark.parametrize(
    ("verdict", "said", "shape"),
    [("did_it", "did it", "circle"), ("not_yet", "not yet", "circle"), ("note", "note", "path")],
)
def test_a_verdict_is_a_shape_with_words(verdict, said, shape):
    html = render("{% verdict v %}", v=verdict)
    assert words(html) == said
    assert drawing(html).find(shape) is not None


def test_did_it_is_filled_and_not_yet_is_open():
    filled = drawing(render("{% verdict 'did_it' %}")).find("circle")
    opened = drawing(render("{% verdict 'not_yet' %}")).find("circle")
    assert filled.get("fill") == "currentColor"
    assert opened.get("fill") == "none"


def test_an_unknown_verdict_is_refused():
    with pytest.raises(KeyError):
        render("{% verdict 'almost' %}")


def test_a_row_of_marks_is_read_out():
    assert words(render("{% marks v %}", v=["did_it", "not_yet"])) == "did it , not yet"


# --- counts ----------------------------------------------------------------


@pytest.mark.parametrize(("made", "tried"), [(0, 0), (None, None), (None, 0)])
def test_nothing_tried_is_a_dash_and_never_zero_percent(made, tried):
    html = render("{% made_tried made=m tried=t interval=True %}", m=made, t=tried)
    assert "–" in html
    assert "%" not in html
    assert "0" not in words(html)


def test_none_made_of_some_is_a_count_and_not_a_dash():
    html = render("{% made_tried made=0 tried=30 interval=True %}")
    assert words(html) == "0 of 30 0–11 %"


def test_few_attempts_have_no_range():
    assert (
        words(render("{% made_tried made=3 tried=19 interval=True %}")) == "3 of 19 too few to tell"
    )


def test_the_range_is_the_wilson_interval():
    low, high = wilson_interval(96, 240)
    html = render("{% made_tried made=96 tried=240 interval=True %}")
    assert words(html) == f"96 of 240 {round(100 * low)}–{round(100 * high)} %"


def test_a_given_range_is_shown_as_it_is():
    html = render("{% made_tried made=96 tried=240 interval=True low=0.3 high=0.5 %}")
    assert words(html).endswith("30–50 %")


@pytest.mark.parametrize("count", [1, 4, 5, 6, 10, 23, 100])
def test_there_are_as_many_strokes_as_counted(count):
    html = render("{% strokes n of='made' %}", n=count)
    assert len(drawing(html).findall("line")) == count
    assert drawing(html).get("aria-label") == f"{count} made"


def test_the_fifth_stroke_crosses_the_four_before_it():
    lines = figures.strokes(5).lines
    x1, _, x2, _ = lines[4]
    assert all(x1 < min(line[0], line[2]) and max(line[0], line[2]) < x2 for line in lines[:4])


@pytest.mark.parametrize("count", [1, 7, 13, 40])
def test_strokes_stay_inside_their_drawing(count):
    drawn = figures.strokes(count)
    assert all(0 <= x <= drawn.width for x1, _, x2, _ in drawn.lines for x in (x1, x2))
    assert all(0 <= y <= drawn.height for _, y1, _, y2 in drawn.lines for y in (y1, y2))


def test_no_strokes_are_a_dash():
    html = render("{% strokes 0 %}")
    assert "–" in html
    assert words(html) == "none"


def test_a_huge_count_is_drawn_in_part_and_said_in_full():
    html = render("{% strokes 137 %}")
    assert len(drawing(html).findall("line")) == 100
    assert drawing(html).get("aria-label") == "137"
    assert "+ 37" in html


def test_a_negative_count_is_refused():
    with pytest.raises(ValueError, match="negative"):
        figures.strokes(-1)


# --- court ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rules", "arc_break", "corner_to_sideline"),
    [("fiba", 1415, 900), ("nba", 2727, 914), ("ncaa", 1412, 1019), ("nfhs", 0, 1600)],
)
def test_court_lines_agree_with_the_rule_books(rules, arc_break, corner_to_sideline):
    lines = court_lines(rules)
    assert lines.arc_break == pytest.approx(arc_break, abs=3)
    assert lines.width / 2 - lines.corner == pytest.approx(corner_to_sideline, abs=1)
    assert lines.free_throw + lines.baseline == pytest.approx(5800, abs=10)


@pytest.mark.parametrize("rules", COURTS)
def test_a_court_is_drawn_in_millimetres_from_under_the_ring(rules):
    svg = drawing(render("{% court rules=r label='Your shots' %}", r=rules))
    lines = court_lines(rules)
    assert svg.get("aria-label") == "Your shots"
    left, top, width, depth = map(float, svg.get("viewBox").split())
    assert (left, top, width, depth) == (
        -lines.width / 2,
        -lines.baseline,
        lines.width,
        lines.length // 2,
    )
    ring = next(c for c in svg.iter("circle") if c.get("class") == "ring")
    assert (ring.get("cx"), ring.get("cy")) == ("0", "0")
    assert any(p.get("class") == "no-charge" for p in svg.iter("path")) is (rules != "nfhs")


def test_an_unknown_court_is_refused():
    with pytest.raises(ValueError, match="no court"):
        court_lines("park")


# --- words -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "shown"),
    [
        ("{{ 3012000|film_time }}", "50:12"),
        ("{{ 3723999|film_time }}", "1:02:03"),
        ("{{ 0|film_time }}", "0:00"),
        ("{{ none|film_time }}", "–"),
        ("{{ 190|duration }}", "3 h 10 min"),
        ("{{ 60|duration }}", "1 h"),
        ("{{ 55|duration }}", "55 min"),
        ("{{ 0|duration }}", "0 min"),
        ("{{ none|duration }}", "–"),
        ("{{ 6200|seconds }}", "6 seconds"),
        ("{{ 300|seconds }}", "1 second"),
        ("{{ none|percent }}", "–"),
        ("{{ half|percent }}", "50 %"),
        ("{{ one|and_list }}", "Inès"),
        ("{{ three|and_list }}", "Inès, Runa and Tove"),
        ("{{ empty|and_list }}", ""),
        ("{{ ''|or_dash }}", "–"),
        ("{{ 0|or_dash }}", "0"),
    ],
)
def test_words_for_figures(source, shown):
    three = ["Inès", "Runa", "Tove"]
    assert render(source, none=None, half=0.5, one=three[:1], three=three, empty=[]) == shown


# --- forms and pages -------------------------------------------------------


class SomeForm(forms.Form):
    title = forms.CharField(label="Title", help_text="What people call it.")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)
    kind = forms.ChoiceField(
        label="Kind", choices=[("a", "A"), ("b", "B")], widget=forms.RadioSelect
    )
    agreed = forms.BooleanField(label="I agree")


def test_a_field_ties_label_help_and_error_to_its_control():
    html = render("{% field form.title %}", form=SomeForm({}))
    assert '<label for="id_title">Title</label>' in html
    assert 'aria-describedby="id_title_errors id_title_help"' in html
    assert 'aria-invalid="true"' in html
    assert '<p class="help" id="id_title_help">What people call it.</p>' in html
    assert '<ul class="errors" id="id_title_errors"><li>This field is required.</li></ul>' in html


def test_a_field_without_errors_is_not_marked():
    html = render("{% field form.note %}", form=SomeForm())
    assert "aria-invalid" not in html
    assert "(not required)" in html


def test_choices_are_a_group_with_a_legend():
    html = render("{% field form.kind %}", form=SomeForm())
    assert "<fieldset" in html
    assert html.count("<legend>") == 1
    assert html.count('type="radio"') == 2


def test_a_box_stands_inside_its_label():
    html = render("{% field form.agreed %}", form=SomeForm())
    assert re.search(r"<label for=\"id_agreed\"><input[^>]*> <span>I agree</span></label>", html)


def test_what_is_wrong_with_the_whole_form_is_said_first():
    form = SomeForm({})
    form.add_error(None, "Nothing was saved.")
    assert "Nothing was saved." in render("{% form_errors form %}", form=form)
    assert render("{% form_errors form %}", form=SomeForm()).strip() == ""


def test_text_from_people_is_escaped():
    html = render("{% empty t %}{% hint k t %}", t="<b>x</b>", k="[ ]")
    assert "<b>" not in html
    assert html.count("<kbd>") == 2


def test_page_links_keep_the_question():
    request = RequestFactory().get("/films/?squad=a&page=2")
    page = Paginator(range(300), 50).page(2)
    html = engines["django"].from_string("{% page_links page %}").render({"page": page}, request)
    assert 'href="?squad=a&amp;page=1"' in html
    assert 'href="?squad=a&amp;page=3"' in html
    assert "page 2 of 6" in html


def test_a_single_page_has_no_links():
    page = Paginator([1], 50).page(1)
    assert render("{% page_links page %}", page=page).strip() == ""


def test_progress_that_is_not_known_has_no_value():
    assert "value" not in render("{% progress_bar v label='Preparing' %}", v=None)
    assert 'value="40"' in render("{% progress_bar v label='Preparing' %}", v=0.4)

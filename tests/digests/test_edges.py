"""What the digests say at the edges; the same in HTML and text."""

import re
from html import unescape

import pytest

from tests.digests import edges
from tests.digests.edges import CASES, letter_for

READERS = [("guardian", "guardian"), ("player", "player"), ("coach", "coach")]
READERS += [("director", "director")]


def told(html: str) -> str:
    """What a person reads or hears of a mail: its words, and what stands for its pictures."""
    html = re.sub(r"<style>.*?</style>|<title>.*?</title>", " ", html, flags=re.S)
    alts = re.findall(r'<img[^>]*alt="([^"]*)"', html)
    return unescape(" ".join([re.sub(r"<[^>]+>", " ", html), *alts]))


def words_of(text: str) -> set[str]:
    """Numbers, and names: every word that begins with a capital letter, but that of a button."""
    text = re.sub(r"https?://\S+|Watch the clip( after signing in)?", " ", text)
    return set(re.findall(r"\d+(?:[.:]\d+)?|\b[A-ZÀ-Þ][\w’]*", text))


def assert_the_same(letter) -> None:
    assert words_of(letter.text) == words_of(told(letter.html))


@pytest.mark.parametrize("case", CASES)
def test_html_and_text_hold_the_same_numbers_and_names(cast, case):
    CASES[case](cast)
    for kind, name in READERS:
        letter = letter_for(cast, kind, getattr(cast, name))
        if letter is not None:
            assert_the_same(letter)
            assert len(letter.html.encode()) < 60_000
            assert "None" not in letter.text
            assert "%(" not in letter.text


def body(cast, kind="guardian", name="guardian"):
    return letter_for(cast, kind, getattr(cast, name)).text


def test_a_week_with_nothing_in_it_is_said_kindly_and_short(cast):
    text = body(cast, "player", "player")
    assert "A quiet week: nothing new from film and no workout logged. That is fine" in text
    assert "Next: No dates in the calendar yet." in text
    assert not re.search(r"Practised|Shots|Messages|0 min|0 of", text)


def test_nothing_tried_is_a_dash_and_no_percent(cast):
    edges.no_attempts(cast)
    text = body(cast, "player", "player")
    assert "Shots: –" in text
    assert "Goal on free throws: Not enough evidence yet." in text
    assert not re.search(r"\b0 %", text)


def test_one_session_claims_nothing(cast):
    edges.one_session(cast)
    text = body(cast)
    assert "Not enough evidence yet." in text
    assert "12 of 20 went in" in text
    assert not re.search(r"improv|better|\bup\b", text, re.I)


def test_all_makes_have_an_interval_all_the_same(cast):
    edges.all_makes(cast)
    text = body(cast)
    assert "60 of 60 went in; the long-run rate may lie between 94 and 100 %" in text


def test_due_today_says_so(cast):
    edges.due_today(cast)
    assert "Due today." in body(cast)


def test_a_target_that_was_moved_is_said(cast):
    edges.changed_half_way(cast)
    assert "The target stands since" in body(cast)


def test_who_left_and_his_guardian_get_none(cast):
    edges.left(cast)
    assert letter_for(cast, "player", cast.player) is None
    assert letter_for(cast, "guardian", cast.guardian) is None


def test_the_first_week_is_greeted(cast):
    edges.first_week(cast)
    assert "This is the first week here" in body(cast)


def test_two_children_have_a_part_each_and_nothing_of_the_other(cast):
    edges.two_children(cast)
    _head, ines, luc = re.split(r"^(?=\w+’s week$)", body(cast), flags=re.M)
    assert "12 of 20 went in" in ines
    assert "Luc" not in ines.split("-----")[0]
    assert "45 min with the team" in luc
    assert "Free throws" not in luc


def test_hours_past_the_limit_name_their_source_and_give_no_advice(cast):
    edges.too_many_hours(cast)
    for kind, name in [("guardian", "guardian"), ("player", "player")]:
        text = body(cast, kind, name)
        assert "Practised: 15 h 10 min with the team" in text
        assert "of the hours we know of" in text
        assert "more than the 10 h a week published for ages 12 to 14" in text
        assert "DiFiori et al. 2018" in text
        assert "This is not medical advice." in text
        assert "0 days with nothing logged last week" in text
    assert "1 player’s week, of the hours we know of, lies past the published limits." in body(
        cast, "director", "director"
    )


def test_within_the_limits_the_rest_days_stand(cast):
    edges.one_session(cast)
    text = body(cast)
    assert "10 h a week are published as the most for ages 12 to 14" in text
    assert "Rest days: 6 days with nothing logged, as far as we know" in text


def test_the_table_of_all_sentences(cast, request):
    """Printed with -s; here it has to be there for each reader."""
    from django.db import transaction

    rows = []
    for case, write in CASES.items():
        place = transaction.savepoint()
        write(cast)
        for kind, name in READERS[:2]:
            letter = letter_for(cast, kind, getattr(cast, name))
            rows.append((case, kind, letter.text if letter else "no digest"))
        transaction.savepoint_rollback(place)
    if request.config.getoption("capture") == "no":
        for case, kind, text in rows:
            print(f"\n=== {case} · {kind}\n{text}")
    assert len(rows) == 2 * len(CASES)
    assert [row[0] for row in rows if row[2] == "no digest"] == ["player left"] * 2

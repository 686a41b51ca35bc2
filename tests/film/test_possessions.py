"""Possessions and clock marks over services and the page's JSON."""

from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.feedback.models import Comment
from devplans.film import services
from devplans.film.marks import game_clock
from devplans.film.models import ClockMark, Possession
from tests import factories as make

HTMX = {"HX-Request": "true"}


@pytest.fixture
def film(cast):
    return make.make_film(cast.squad, duration_ms=2_000_000)


def put(cast, film, start_ms, end_ms=None, *, side="ours", key=None, actor=None):
    return services.put_possession(
        actor=actor or cast.coach,
        film=film,
        possession_id=key or uuid4(),
        side=side,
        start_ms=start_ms,
        end_ms=end_ms,
    )


def spans(film):
    return list(Possession.objects.of_film(film).values_list("side", "start_ms", "end_ms"))


def test_a_new_start_closes_the_open_one(cast, film):
    first = put(cast, film, 1_000)[0]
    second, closed = put(cast, film, 15_000, side="theirs")
    assert (second.end_ms, closed.pk) == (None, first.pk)
    assert spans(film) == [("ours", 1_000, 15_000), ("theirs", 15_000, None)]


def test_one_in_a_gap_goes_on_until_the_next(cast, film):
    put(cast, film, 20_000, 30_000)
    put(cast, film, 10_000, side="theirs")
    assert spans(film) == [("theirs", 10_000, 20_000), ("ours", 20_000, 30_000)]


def test_sent_twice_it_is_marked_once(cast, film):
    key = uuid4()
    put(cast, film, 1_000, 9_000, key=key)
    put(cast, film, 1_000, 9_000, key=key)
    assert spans(film) == [("ours", 1_000, 9_000)]
    assert AuditEntry.objects.filter(verb__startswith="film.possession").count() == 1
    put(cast, film, 2_000, 9_000, key=key, side="theirs")
    assert spans(film) == [("theirs", 2_000, 9_000)]
    for _time in range(2):
        services.delete_possession(actor=cast.coach, film=film, possession_id=key)
    assert spans(film) == []


@pytest.mark.parametrize(
    ("start_ms", "end_ms", "code", "words"),
    [
        (5_000, 12_000, "possession.overlap", "from 0:10 to 0:20"),
        (15_000, None, "possession.overlap", "from 0:10 to 0:20"),
        (12_000, 14_000, "possession.overlap", "from 0:10 to 0:20"),
        (5_000, 40_000, "possession.overlap", "from 0:10 to 0:20"),
        (10_000, 20_000, "possession.overlap", "from 0:10 to 0:20"),
        (5_000, 5_000, "possession.order", "ends after it begins"),
        (2_000_000, None, "possession.film_time", "ends at 33:20"),
        (1_990_000, 2_000_001, "possession.film_time", "ends at 33:20"),
    ],
)
def test_what_cannot_be_is_refused_with_the_reason(cast, film, start_ms, end_ms, code, words):
    put(cast, film, 10_000, 20_000)
    with pytest.raises(DomainError, match=words) as refused:
        put(cast, film, start_ms, end_ms)
    assert refused.value.code == code
    assert spans(film) == [("ours", 10_000, 20_000)]


def test_side_by_side_is_no_overlap(cast, film):
    put(cast, film, 10_000, 20_000)
    put(cast, film, 20_000, 30_000)
    put(cast, film, 5_000, 10_000)
    assert len(spans(film)) == 3


def test_another_films_key_is_not_moved(cast, film):
    other = make.make_possession(make.make_film(cast.squad), 0, 1_000)
    with pytest.raises(DomainError) as refused:
        put(cast, film, 5_000, 6_000, key=other.pk)
    assert refused.value.code == "possession.elsewhere"
    with pytest.raises(PermissionDenied):
        put(cast, film, 5_000, 6_000, actor=cast.director)


def mark(cast, film, film_ms, period, clock_s, *, key=None):
    return services.put_clock_mark(
        actor=cast.coach,
        film=film,
        mark_id=key or uuid4(),
        film_ms=film_ms,
        period=period,
        clock_s=clock_s,
    )


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ((2_000_001, 1, 300), "not in the film"),
        ((500_000, 0, 300), "no such period: this game has 4"),
        ((500_000, 2, -1), "never shows less than nothing"),
        ((30_000, 1, 601), "Q1 the clock starts at 10:00"),
        ((60_000, 1, 590), "very frame has a clock mark"),
        ((1_500_000, 1, 100), "shows Q2 10:00 at 23:20 already"),
        ((200_000, 2, 600), "shows Q1 8:20 only later, at 5:00"),
        ((100_000, 1, 595), "At 1:00 before it the clock shows Q1 9:50"),
        ((250_000, 1, 499), "At 5:00 after it the clock shows Q1 8:20"),
        ((70_000, 1, 570), "the mark Q1 9:50 at 1:00 the clock runs 0:20, but the film only 0:10"),
        ((310_000, 1, 480), "the mark Q1 8:20 at 5:00 the clock runs 0:20"),
    ],
)
def test_each_impossible_mark_has_its_sentence(cast, film, wanted, words):
    for row in [(60_000, 1, 590), (300_000, 1, 500), (1_400_000, 2, 600)]:
        mark(cast, film, *row)
    with pytest.raises(DomainError) as refused:
        mark(cast, film, *wanted)
    assert words in str(refused.value)
    assert "%(" not in str(refused.value)
    assert ClockMark.objects.count() == 3


def test_a_game_of_its_own_lengths(cast, film):
    assert game_clock(film).rules.period_s == 600
    mark(cast, film, 60_000, 1, 590)
    lengths = {"period_count": 2, "period_s": 480, "overtime_s": 180}
    with pytest.raises(DomainError, match="starts at 8:00"):
        services.set_periods(actor=cast.coach, film=film, **lengths)
    film.refresh_from_db()
    assert game_clock(film).rules.periods == 4
    services.set_periods(actor=cast.coach, film=film, **(lengths | {"period_s": 900}))
    assert game_clock(film).label(60_000) == "H1 9:50"
    with pytest.raises(DomainError, match="one to thirty minutes"):
        services.set_periods(actor=cast.coach, film=film, **(lengths | {"period_s": 5}))
    services.set_periods(
        actor=cast.coach, film=film, period_count=None, period_s=None, overtime_s=None
    )
    assert game_clock(film).label(60_000) == "Q1 9:50"


def test_the_page_is_told_what_changed_and_what_is_wrong(cast, film, client):
    client.force_login(cast.coach)
    key = uuid4()
    address = reverse("film:possession", args=[film.pk, key])
    body = {"side": "ours", "start_ms": 1_000, "end_ms": None}
    answer = client.put(address, body, content_type="application/json")
    told = {"id": str(key), **body}
    assert answer.json() == {"possessions": [told]}
    assert client.get(reverse("film:marks", args=[film.pk])).json()["possessions"] == [told]
    wrong = client.put(address, body | {"end_ms": 500}, content_type="application/json")
    assert (wrong.status_code, wrong.json()["code"]) == (400, "possession.order")
    for nonsense in ("[1, 2", '"text"', "{}"):
        answer = client.put(address, nonsense, content_type="application/json")
        assert answer.status_code == 400
        assert "start_ms" in answer.json()


def commented(cast, film, count):
    skill = make.make_skill()
    Comment.objects.bulk_create(
        Comment(film=film, author=cast.coach, skill=skill, verdict="note", start_ms=k * 1_000)
        for k in range(count)
    )
    for comment in Comment.objects.filter(film=film):
        comment.players.add(cast.kid)


def test_the_list_takes_as_many_queries_for_many_as_for_few(cast, film, client):
    client.force_login(cast.coach)
    mark(cast, film, 60_000, 1, 590)
    counts = []
    for count in (3, 40):
        commented(cast, film, count)
        for address in ("feedback:film-comments", "film:detail"):
            with CaptureQueriesContext(connection) as asked:
                page = client.get(reverse(address, args=[film.pk]), headers=HTMX)
            assert page.status_code == 200
            counts.append(len(asked))
        for k in range(count):
            start_ms = 100_000 * len(counts) + k * 1_000
            make.make_possession(film, start_ms, start_ms + 500)
    assert counts[:2] == counts[2:]


def test_one_row_comes_with_the_heads_of_all(cast, film, client):
    client.force_login(cast.coach)
    mark(cast, film, 60_000, 1, 590)
    commented(cast, film, 5)
    one = Comment.objects.order_by("start_ms")[2]
    address = reverse("feedback:film-comments", args=[film.pk])
    page = client.get(f"{address}?only={one.pk}", headers=HTMX).text
    assert page.count('id="comment-') == 1
    assert f'id="comment-{one.pk}"' in page
    assert "5 comments" in page
    assert game_clock(film).label(one.start_ms) in page
    assert client.get(f"{address}?only=nonsense", headers=HTMX).text.count('id="comment-') == 0

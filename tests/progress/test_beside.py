"""Film beside gym on a player's summary: two series of one skill, and what may be said of them."""

from datetime import timedelta

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.progress import beside
from devplans.progress.beside.words import sentences
from devplans.stats import together, weeks
from devplans.stats.together import Link
from tests import factories as make
from tests.progress.counting import count, sample, words

CAUSE = "nothing here says that one caused the other"


@pytest.fixture
def skill():
    return make.make_skill(name="Closing out")


@pytest.fixture
def drill(skill):
    return make.make_drill(skill=skill)


def film(cast, skill, made, tried, *, back, coach=None, player=None):
    """A closed count of a film `back` weeks before this one."""
    figures = {player or cast.kid: {skill: (made, tried)}}
    return count(cast.squad, coach or cast.coach, [skill], figures, days=7 * back)


def gym(cast, drill, *, back, **counts):
    day = timezone.now() - timedelta(days=7 * back)
    make.make_workout(cast.kid, started_at=day, sets=[{"drill": drill, **counts}])


def shown(cast):
    return beside.of_player(cast.kid, timezone.now())


def told(cast):
    return words(render_to_string("progress/beside/_section.html", {"beside": shown(cast)}))


WAVE = [5, 15, 6, 14, 7, 13, 4, 16, 8, 12, 3, 17]


def a_season(cast, skill, drill, *, length=12, sign=1):
    for back, high in enumerate(WAVE[:length], 1):
        film(cast, skill, high, 20, back=back)
        gym(cast, drill, back=back, reps=100 + 5 * sign * high)


def test_nothing_stands_beside_nothing(cast, skill, drill):
    assert shown(cast) == []
    assert told(cast) == ""
    film(cast, skill, 3, 4, back=2)
    assert shown(cast) == []


def test_work_on_another_skill_is_not_laid_beside(cast, skill):
    film(cast, skill, 3, 4, back=2)
    gym(cast, make.make_drill(skill=make.make_skill()), back=2, reps=40)
    assert shown(cast) == []


def test_both_series_stand_over_the_weeks_from_the_first_one_on(cast, skill, drill):
    film(cast, skill, 3, 4, back=2)
    film(cast, skill, 2, 4, back=2)
    gym(cast, drill, back=4, made=7, tried=10)
    gym(cast, make.make_drill(skill=skill), back=4, reps=30)
    (row,) = shown(cast)
    last = weeks.last_complete_week(timezone.now(), cast.club.zone)
    assert [week.week for week in row.weeks][-1] == last
    assert len(row.weeks) == 4
    on_film, made, amount = row.strips
    assert [(one.made, one.tried) for one in on_film.shares] == [(0, 0), (0, 0), (5, 8), (0, 0)]
    assert (made.shares[0].made, made.shares[0].tried) == (7, 10)
    assert amount.counts == (40, None, None, None)


def test_the_running_week_is_not_over_and_stays_out(cast, skill, drill):
    film(cast, skill, 3, 4, back=1)
    gym(cast, drill, back=0, reps=30)
    assert shown(cast) == []
    gym(cast, drill, back=1, reps=20)
    assert shown(cast)[0].strips[-1].counts == (20,)


def test_drills_without_makes_have_no_strip_of_shares(cast, skill, drill):
    film(cast, skill, 3, 4, back=1)
    gym(cast, drill, back=1, reps=30)
    assert [strip.name for strip in shown(cast)[0].strips] == ["On film, %", "Gym: reps and tries"]


def test_a_sampled_count_keeps_its_own_interval(cast, skill, drill):
    tally = sample(cast.squad, cast.coach, skill, cast.kid, 6, 10, 0.3, 0.8)
    day = timezone.now().date() - timedelta(days=7)
    iso = day.isocalendar()
    tally.weeks.update(iso_year=iso.year, iso_week=iso.week, film_on=day)
    gym(cast, drill, back=1, reps=30)
    (point,) = shown(cast)[0].strips[0].shares
    assert (point.low, point.high) == (0.3, 0.8)


def test_counts_of_two_coaches_are_not_one_series(cast, skill, drill):
    second = make.make_user("Sigrun")
    film(cast, skill, 3, 9, back=1)
    film(cast, skill, 8, 8, back=2, coach=second)
    gym(cast, drill, back=1, reps=30)
    (row,) = shown(cast)
    assert [one.tried for one in row.strips[0].shares] == [9]
    assert row.is_part
    assert "what other coaches counted is not added" in told(cast)
    assert f"Film as {cast.coach.full_name} counted it" in told(cast)


def test_three_weeks_say_how_many_it_takes(cast, skill, drill):
    a_season(cast, skill, drill, length=3)
    page = told(cast)
    assert (
        "Not enough evidence yet: it takes 12 weeks with at least 20 counted chances and a known"
        " amount of gym work each, and there are 3." in page
    )
    assert CAUSE in page


def test_weeks_with_few_chances_are_told(cast, skill, drill):
    a_season(cast, skill, drill, length=3)
    film(cast, skill, 3, 4, back=5)
    assert "1 week is left out: too few chances, or one of the two is missing." in told(cast)


def test_a_week_without_gym_work_counts_as_none_once_it_has_begun(cast, skill, drill):
    for back in (4, 3, 2, 1):
        film(cast, skill, 10, 20, back=back)
    gym(cast, drill, back=3, reps=40)
    (row,) = shown(cast)
    assert (row.link.weeks, row.link.left_out) == (3, 1)


def test_what_moved_together_is_said_without_a_cause(cast, skill, drill):
    a_season(cast, skill, drill)
    page = told(cast)
    assert "Moved together: over 12 weeks" in page
    assert CAUSE in page


def test_more_work_with_a_lower_share_is_no_visible_link(cast, skill, drill):
    a_season(cast, skill, drill, sign=-1)
    page = told(cast)
    assert "No visible link: over 12 weeks" in page
    assert CAUSE in page
    assert "Moved together" not in page


def test_the_same_work_each_week_shows_nothing(cast, skill, drill):
    a_season(cast, skill, drill, sign=0)
    assert "one of the two was the same each week" in told(cast)


@pytest.mark.parametrize(("length", "drawn"), [(5, False), (6, True)])
def test_a_trend_is_drawn_from_six_weeks_on_and_claims_nothing(cast, skill, drill, length, drawn):
    a_season(cast, skill, drill, length=length)
    assert bool(shown(cast)[0].strips[0].trend) is drawn
    assert ("It does not claim that anything changed" in told(cast)) is drawn


@pytest.mark.parametrize(
    "found",
    [
        Link(together.MOVED, 0.6, 0.01, 12, 3),
        Link(together.NO_LINK, -0.6, 0.01, 12, 0),
        Link(together.NOT_ENOUGH, None, None, 12, 1, is_constant=True),
        Link(together.NOT_ENOUGH, None, None, 1, 0),
    ],
)
def test_the_words_never_name_a_cause(found):
    said = " ".join(sentences(found)).lower()
    assert said.count("cause") == 1
    for word in ("because", "thanks to", "leads to", "due to", "effect", "improve"):
        assert word not in said


def test_another_players_film_and_work_are_not_read(cast, skill, drill):
    film(cast, skill, 3, 4, back=1, player=cast.mate)
    gym(cast, drill, back=1, reps=30)
    assert shown(cast) == []


def test_queries_do_not_grow_with_skills_and_weeks(cast, skill, drill):
    def asked():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            told(cast)
        return len(caught)

    film(cast, skill, 3, 4, back=1)
    gym(cast, drill, back=1, reps=30)
    few = asked()
    for number in range(4):
        other = make.make_skill()
        for back in (1, 2, 3):
            film(cast, other, 3, 4 + number, back=back)
            gym(cast, make.make_drill(skill=other), back=back, made=3, tried=4)
    assert len(shown(cast)) == 5
    assert asked() == few <= 4


def test_the_summary_shows_it_to_player_and_guardian(client, cast, skill, drill):
    film(cast, skill, 3, 4, back=1)
    gym(cast, drill, back=1, made=7, tried=10)
    for reader in (cast.player, cast.guardian, cast.coach):
        client.force_login(reader)
        answer = client.get(reverse("progress:player", args=[cast.kid.pk]))
        page = words(answer.content.decode())
        assert "Film beside gym" in page
        assert CAUSE in page
        assert "7 of 10 40–89 %" in page

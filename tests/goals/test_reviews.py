"""Reviews: written once on their day, kept as written."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from devplans.goals import services, tasks
from devplans.goals.models import Goal, GoalReview
from devplans.goals.services import reviews
from devplans.goals.status import looking, statuses
from tests import factories as make
from tests.goals.steps import an_aim, log
from tests.goals.test_statuses import a_film, count

# A Wednesday; reviews follow on 9 December, 6 January and 3 February.
BEGAN = datetime(2026, 11, 11, 12, tzinfo=UTC)
FIRST, SECOND = date(2026, 12, 9), date(2027, 1, 6)


def at(day, hour=17):
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)


def shoot(people, first, days, made, tried, player=None, drill=None):
    for number in range(days):
        day = at(first) + timedelta(days=2 * number)
        log(player or people.kid, drill or people.drill, day, made=made, tried=tried)


@pytest.fixture
def goal(people, clock):
    """Began with 60 of 150 in five sessions, as they were counted."""
    clock.now = BEGAN
    shoot(people, date(2026, 10, 14), 5, 12, 30)
    aim = an_aim(
        people.skill, today=BEGAN.date(), drill=people.drill, start_made=60, start_tried=150
    )
    draft = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    return services.make_live(actor=people.coach, goal=draft)


def review(clock, day=FIRST, hour=3):
    clock.now = at(day, hour)
    return services.write_due_reviews(now=clock.now)


def test_the_sessions_behind_a_counted_start_are_kept_when_it_goes_live(people, goal):
    assert goal.start_sessions == [[12, 30]] * 5
    assert goal.review_dates[0] == FIRST.isoformat()


def test_a_typed_start_has_no_sessions_and_claims_nothing(people, clock):
    clock.now = BEGAN
    aim = an_aim(people.skill, today=BEGAN.date(), drill=people.drill, start_made=2, start_tried=90)
    draft = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    typed = services.make_live(actor=people.coach, goal=draft)
    assert typed.start_sessions == []
    shoot(people, date(2026, 11, 12), 10, 28, 30)
    assert review(clock) == 1
    row = typed.reviews.get()
    assert (row.word, row.start_made, row.start_tried) == ("not enough evidence yet", 2, 90)
    assert "was typed in without its sessions" in row.sentence


def test_a_review_says_between_what_and_what(people, clock, goal):
    shoot(people, date(2026, 11, 12), 10, 21, 30)
    assert review(clock) == 1
    row = goal.reviews.get()
    assert (row.number, row.of, row.word) == (1, 3, "up")
    assert (row.window_from, row.window_until) == (BEGAN.date(), date(2026, 12, 8))
    assert row.confidence == pytest.approx(1 - 0.05 / 3)
    assert (row.made, row.tried, row.start_made, row.start_tried) == (210, 300, 60, 150)
    low, high = round(100 * row.low), round(100 * row.high)
    assert row.sentence == (
        f"Up at the review of 9 December. Between {low} and {high} points better than at the "
        "start. 210 of 300 since it began, 60 of 150 at the start."
    )


def test_it_is_written_once_however_often_and_never_again(people, clock, goal):
    shoot(people, date(2026, 11, 12), 10, 21, 30)
    assert review(clock, FIRST - timedelta(days=1), hour=23) == 0
    assert review(clock) == 1
    kept = GoalReview.objects.values().get()
    shoot(people, date(2026, 11, 13), 5, 0, 30)
    assert [review(clock, hour=hour) for hour in (4, 12)] == [0, 0]
    assert tasks.write_reviews() == 0
    assert GoalReview.objects.values().get() == kept


def test_two_at_once_write_one_row(people, clock, goal):
    clock.now = at(FIRST)
    window = looking.windows_of(goal)[0]
    [one] = reviews.known([goal], clock.now)
    assert [reviews._keep(one, window), reviews._keep(one, window)] == [1, 0]
    assert goal.reviews.count() == 1


def test_a_worker_that_was_away_writes_what_was_due_in_windows_of_their_own(people, clock, goal):
    shoot(people, date(2026, 11, 12), 4, 21, 30)
    log(people.kid, people.drill, at(date(2026, 12, 8)), made=1, tried=1)
    log(people.kid, people.drill, at(FIRST), made=0, tried=9)
    shoot(people, date(2026, 12, 14), 4, 12, 30)
    assert review(clock, SECOND + timedelta(days=3)) == 2
    first, second = goal.reviews.order_by("number")
    assert (first.tried, second.tried) == (121, 129)
    assert second.window_from == first.window_until + timedelta(days=1) == FIRST
    assert second.reviewed_on == SECOND


def test_the_club_has_its_own_midnight(people, clock, goal):
    people.club.zone = "Pacific/Auckland"
    people.club.save()
    assert services.write_due_reviews(now=datetime(2026, 12, 8, 10, tzinfo=UTC)) == 0
    assert services.write_due_reviews(now=datetime(2026, 12, 8, 12, tzinfo=UTC)) == 1


def test_drafts_and_goals_closed_before_are_not_reviewed(people, clock, goal):
    clock.now = at(FIRST - timedelta(days=2))
    services.close_goal(actor=people.coach, goal=goal, words="Another one comes.")
    aim = an_aim(people.skill, today=clock.now.date(), drill=people.drill)
    services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    assert review(clock) == 0


def test_reps_are_reviewed_as_a_census(people, clock):
    clock.now = BEGAN
    aim = an_aim(
        people.skill, today=BEGAN.date(), measure="reps_per_week", drill=people.drill,
        target_share=None, target_reps=60, start_reps=30,
    )  # fmt: skip
    draft = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    goal = services.make_live(actor=people.coach, goal=draft)
    for day in (17, 24):
        log(people.kid, people.drill, at(date(2026, 11, day)), made=10, tried=60)
    assert review(clock) == 1
    row = goal.reviews.get()
    assert (row.word, row.reps, row.start_reps, row.low) == ("up", 40, 30, None)
    assert "40 reps a week since it began, 30 at the start." in row.sentence


@pytest.fixture
def film_goal(people, clock):
    clock.now = BEGAN
    people.second = make.make_user("Sigrun")
    make.make_member(people.second, "coach", club=people.club, squad=people.squad)
    for day in (1, 3, 5):
        count(people, a_film(people, at(date(2026, 11, day))), [True] * 8 + [False] * 12)
    aim = an_aim(
        people.skill, today=BEGAN.date(), measure="film_rate", start_made=24, start_tried=60
    )
    draft = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    return services.make_live(actor=people.coach, goal=draft)


def test_film_is_compared_with_films_that_the_same_coach_counted(people, clock, film_goal):
    assert film_goal.start_sessions == [[8, 20]] * 3
    assert film_goal.start_coach == people.coach
    for day in (14, 21, 28):
        film = a_film(people, at(date(2026, 11, day)))
        count(people, film, [True] * 19 + [False], coach=people.coach)
    assert review(clock) == 1
    assert film_goal.reviews.get().word == "up"


def test_films_that_another_coach_counted_are_not_compared(people, clock, film_goal):
    for day in (14, 21, 28):
        film = a_film(people, at(date(2026, 11, day)))
        count(people, film, [True] * 19 + [False], coach=people.second)
    review(clock)
    row = film_goal.reviews.get()
    assert row.word == "not enough evidence yet"
    assert "Another coach counted than at the start" in row.sentence


def test_coaches_who_differ_on_one_film_tell_no_change(people, clock, film_goal):
    for day in (14, 21, 28):
        film = a_film(people, at(date(2026, 11, day)))
        count(people, film, [True] * 19 + [False])
    count(people, film, [n % 2 == 0 for n in range(20)], coach=people.second)
    review(clock)
    row = film_goal.reviews.get()
    assert row.word == "not enough evidence yet"
    assert row.sentence.startswith("The coaches' counts differ at the review of 9 December.")


def test_a_sample_tells_no_change(people, clock, film_goal):
    film = a_film(people, at(date(2026, 11, 21)))
    tally = count(people, film, [True] * 19 + [False])
    tally.weeks.update(low=0.5, high=1.0)
    review(clock)
    assert "Only a sample of a film was counted" in film_goal.reviews.get().sentence


def test_the_pages_show_reviews_to_the_family_and_to_no_other(people, clock, goal, client):
    shoot(people, date(2026, 11, 12), 10, 21, 30)
    review(clock)
    standing = statuses([goal], clock.now)[goal.pk]
    assert standing.last_review.word == "up"
    assert standing.next_review == FIRST
    url = reverse("goals:goal", args=[goal.pk])
    for user in (people.guardian, people.coach):
        client.force_login(user)
        page = " ".join(client.get(url).content.decode().split())
        assert goal.reviews.get().sentence in page
        assert standing.label in page
        assert "Next review on 9 December 2026." in page
    assert not GoalReview.objects.visible_to(people.teammate).exists()
    client.force_login(people.guardian)
    listed = client.get(reverse("goals:list", args=[people.kid.pk])).content.decode()
    assert goal.reviews.get().sentence in listed


@pytest.mark.once
def test_many_reviews_ask_few_questions_each(people, clock):
    clock.now = at(FIRST)
    for _number in range(30):
        Goal.objects.create(
            player=make.make_player(squad=people.squad), skill=people.skill, drill=people.drill,
            measure="drill_share", life="live", target_share=0.7, started_on=BEGAN.date(),
            due_on=FIRST + timedelta(days=60), review_dates=[FIRST.isoformat()],
        )  # fmt: skip
    with CaptureQueriesContext(connection) as queries:
        assert services.write_due_reviews(now=clock.now) == 30
    assert len(queries) <= 30 * 5 + 25

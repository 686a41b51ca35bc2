"""The progress summary of one player, for each of its readers."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.goals.models import Goal, GoalReview
from devplans.progress import reports
from tests import factories as make


def make_goal(player, drill=None, **fields):
    began = timezone.now().date() - timedelta(days=20)
    drill = drill or make.make_drill()
    words = {
        "skill": drill.skill, "drill": drill, "measure": "drill_share", "target_share": 0.7,
        "chances_needed": 100, "start_made": 5, "start_tried": 10, "life": "live",
        "started_on": began, "due_on": began + timedelta(weeks=12),
        "review_dates": [(began + timedelta(weeks=4)).isoformat()],
    }  # fmt: skip
    return Goal.objects.create(player=player, **(words | fields))


def make_review(goal, number=1, word="up", **fields):
    day = timezone.now().date() - timedelta(days=number)
    words = {
        "reviewed_on": day, "window_from": day - timedelta(days=28), "window_until": day,
        "of": 5, "low": 0.02, "high": 0.27, "made": 112, "tried": 160, "start_made": 88,
        "start_tried": 160, "confidence": 0.99, "sentence": "Between 2 and 27 points better.",
    }  # fmt: skip
    return GoalReview.objects.create(goal=goal, number=number, word=word, **(words | fields))


@pytest.fixture
def goal(cast):
    return make_goal(cast.kid, make.make_drill(name="Wall finishes"))


def summary(client, cast, user, player=None):
    client.force_login(user)
    return client.get(reverse("progress:player", args=[(player or cast.kid).pk])).content.decode()


def test_the_summary_shows_counts_and_claims_nothing(client, cast, goal):
    sets = [
        {"drill": goal.drill, "made": 7, "tried": 10},
        {"drill": goal.drill, "made": 6, "tried": 10},
    ]
    make.make_workout(cast.kid, sets=sets, started_at=timezone.now() - timedelta(hours=3))
    page = summary(client, cast, cast.guardian)
    assert "13 of 20" in page
    assert "was 5 of 10" in page
    assert "what was logged cannot say yet" in page
    assert not any(word in page for word in ("improved", "better", "Up.</b>"))


def test_a_review_is_told_first_and_kept_as_it_was_written(client, cast, goal):
    make_review(goal)
    page = summary(client, cast, cast.guardian)
    skill = goal.skill.name.lower()
    assert f"Ines’s {skill} had improved." in page
    assert page.index("had improved") < page.index("was 5 of 10")
    assert "Between 2 and 27 points better." in page
    assert "Review 1 of 5" in page


@pytest.mark.parametrize("who", ["guardian", "coach", "director", "welfare"])
def test_the_player_reads_you_and_all_others_the_first_name(client, cast, goal, who):
    make_review(goal)
    mine, theirs = summary(client, cast, cast.player), summary(client, cast, getattr(cast, who))
    assert f"your {goal.skill.name.lower()} had improved" in mine
    assert "On your own this week so far: 0 min." in mine
    assert f"Ines’s {goal.skill.name.lower()} had improved" in theirs
    assert "Ines alone this week so far: 0 min." in theirs
    assert "our own this week" not in theirs


def test_without_a_try_there_is_no_figure_and_never_nought_per_cent(client, cast, goal):
    page = summary(client, cast, cast.player)
    assert "no figure yet" in page
    assert "Nothing has been logged" in page
    assert "0 %" not in page.replace("100 %", "").replace("70 %", "")


def test_a_film_goal_has_no_figure_before_it_is_counted(client, cast, goal):
    Goal.objects.filter(pk=goal.pk).update(measure="film_rate", drill=None)
    film = make.make_film(cast.squad)
    comment = make.make_comment(film, cast.coach, [cast.kid], skill=goal.skill)
    make.make_delivery(comment, cast.kid)
    page = summary(client, cast, cast.coach)
    assert "has not been counted on film" in page
    assert "never counted as a rate" in page


def test_a_child_s_hours_stand_beside_what_is_published(client, cast):
    make.make_workout(
        cast.kid, kind="organised", minutes=700, started_at=timezone.now() - timedelta(hours=1)
    )
    page = summary(client, cast, cast.guardian)
    assert "11 h 40 min of team basketball" in page
    assert "DiFiori et al. 2018" in page
    assert "not medical advice" in page


def test_an_empty_player_is_told_what_is_missing(client, cast):
    page = summary(client, cast, cast.coach, cast.mate)
    for words in (
        "No goal yet", "Nothing was logged in the last eight weeks", "Nothing from film yet",
        "No dates in the calendar yet",
    ):  # fmt: skip
        assert words in page
    assert "Goals as CSV" not in page


def test_drafts_are_for_staff_and_other_lives_for_their_own_page(client, cast):
    for life in ("draft", "paused", "closed"):
        make_goal(cast.kid, make.make_drill(skill=make.make_skill(name=f"A {life} one")), life=life)
    for user in (cast.player, cast.coach):
        page = summary(client, cast, user)
        assert "A draft one" not in page
        assert "A closed one" not in page


def test_office_readers_leave_a_line_in_the_audit_and_family_does_not(client, cast):
    summary(client, cast, cast.guardian)
    summary(client, cast, cast.coach)
    assert not AuditEntry.objects.filter(verb="progress.summary_read").exists()
    summary(client, cast, cast.director)
    assert AuditEntry.objects.get(verb="progress.summary_read").player_id == cast.kid.pk


def test_no_team_mate_is_named_in_a_summary(client, cast):
    comment = make.make_comment(make.make_film(cast.squad), cast.coach, [cast.kid, cast.mate])
    make.make_delivery(comment, cast.kid)
    make.make_delivery(comment, cast.mate)
    page = summary(client, cast, cast.guardian)
    assert "Runa" not in page
    assert "Lindqvist" not in page


def test_a_coach_is_not_shown_what_he_could_not_open(client, cast):
    """A player of two squads: what another squad's coach sent is no link to a page that refuses."""
    film = make.make_film(cast.other_squad)
    make.make_delivery(
        make.make_comment(film, cast.other_coach, [cast.kid], happened="Seen elsewhere."), cast.kid
    )
    assert "Seen elsewhere." not in summary(client, cast, cast.coach)
    assert "Seen elsewhere." in summary(client, cast, cast.guardian)


def test_the_facts_of_goals_are_those_of_their_standing(cast, goal):
    make_review(goal)
    found = reports.goals_of([cast.kid])[cast.kid.pk][0]
    assert found["skill"] == goal.skill.name
    assert found["word"] == "not enough evidence yet"
    assert (found["start_made"], found["start_tried"], found["target"]) == (5, 10, 0.7)
    assert found["last_review"]["word"] == "up"


def questions(client, url):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(url).status_code == 200
    return len(asked)


def test_the_summary_asks_as_much_for_much_as_for_little(client, cast, goal):
    url = reverse("progress:player", args=[cast.kid.pk])
    film = make.make_film(cast.squad)

    def more(number):
        for _one in range(number):
            make.make_delivery(make.make_comment(film, cast.coach, [cast.kid]), cast.kid)
            again = make_goal(cast.kid)
            make_review(again)
            for weeks_back in range(8):
                make.make_workout(
                    cast.kid,
                    started_at=timezone.now() - timedelta(weeks=weeks_back, hours=3),
                    sets=[{"drill": again.drill, "made": 3, "tried": 5}],
                )
        for _one in range(5 * number):
            make.make_player(squad=cast.squad)

    more(1)
    client.force_login(cast.player)
    client.get(url)
    few = questions(client, url)
    more(9)
    many = questions(client, url)
    print(f"{few} questions for 2 goals, {many} for 11")
    assert many == few
    assert many < 75

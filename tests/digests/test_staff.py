"""What coaches and directors get: counts and their own players, in few questions."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from devplans.digests import emails, facts, planning
from devplans.people.models import SquadPlayer
from devplans.stats import weeks
from devplans.threads.services import post_reply
from tests import factories as make
from tests.digests import edges
from tests.digests.edges import in_week, letter_for
from tests.digests.test_edges import assert_the_same


@pytest.fixture
def busy(cast):
    """A week in which a squad did a little of everything."""
    skill = make.make_skill(name="Closeout technique")
    film = make.make_film(cast.squad, title="Game against the Larks")
    comment = make.make_comment(film, cast.coach, [cast.kid], skill=skill)
    cast.delivery = make.make_delivery(comment, cast.kid, sent_at=in_week(cast))
    edges.film_goal(cast, cast.kid, skill)
    cast.goal = edges.film_goal(cast, cast.mate, skill)
    edges.review(cast.goal, in_week(cast).date(), "About the same as four weeks ago.")
    edges.one_session(cast)
    make.make_pain(cast.kid, said="Left ankle, since Tuesday.")
    post_reply(actor=cast.player, thread=cast.delivery.thread, text="Both feet?", is_question=True)
    return cast


def test_the_coach_reads_what_waits_what_was_reviewed_and_what_to_count(busy):
    letter = letter_for(busy, "coach", busy.coach)
    text = letter.text
    assert "Nothing for: Runa Lindqvist and Tove Adeyemi" in text
    assert "Questions open: 1" in text
    assert "Pain answers open: 1" in text
    assert "Reviews: 1 goal was looked at this week." in text
    assert "Runa Lindqvist, closeout technique: About the same as four weeks ago." in text
    assert "Not enough evidence yet: 3" in text
    assert "Closeout technique: 2 goals wait for it, 0 chances counted so far" in text
    assert "Free throws" not in text.split("To count next")[1].split("Training")[0]
    assert_the_same(letter)


def test_the_mail_says_that_something_hurts_and_not_what(busy):
    for kind, name in [("coach", "coach"), ("director", "director"), ("guardian", "guardian")]:
        letter = letter_for(busy, kind, getattr(busy, name))
        assert "ankle" not in letter.text + letter.html


def test_the_director_reads_counts_over_all_squads(busy):
    edges.too_many_hours(busy)
    letter = letter_for(busy, "director", busy.director)
    head = letter.text.split("--------")[0]
    assert head.index("All squads") < head.index("Game to comment")
    assert "1 of 4 players got feedback from film" in head
    assert "Goals: 3 live, 0 paused, 0 closed" in head
    assert "Not enough evidence yet: 3" in head
    assert "1 player’s week, of the hours we know of, lies past the published limits." in head
    assert "without consent to film: 2" in head
    assert "pain answers open: 1" in head
    assert "questions without an answer: 1" in head
    assert not re.search(r"Ines|Runa|Luc|Tove", head), "counts, no names"
    assert_the_same(letter)


def test_under_eighteen_without_a_guardian_is_a_flag(busy):
    busy.mate.guardianships.update(until=timezone.now().date() - timedelta(days=1))
    text = letter_for(busy, "director", busy.director).text
    assert "under 18 without a guardian: 1" in text


def test_game_to_first_comment(busy):
    from devplans.schedule.models import Event

    ends_at = in_week(busy) - timedelta(hours=30)
    event = Event.objects.create(
        squad=busy.squad, kind="game", starts_at=ends_at - timedelta(hours=2), ends_at=ends_at
    )
    busy.delivery.comment.film.event = event
    busy.delivery.comment.film.save(update_fields=["event"])
    for kind, name in [("coach", "coach"), ("director", "director")]:
        text = letter_for(busy, kind, getattr(busy, name)).text
        assert "Game to comment: 30 hours (1 film)" in text


def test_a_squad_s_quiet_week(cast):
    text = letter_for(cast, "coach", cast.coach).text
    assert "A quiet week: no comment from film was sent, and nobody logged a workout." in text


def crowd(cast, number):
    """So many more players, each with a goal, a workout, a comment and a review."""
    skill = make.make_skill()
    film = make.make_film(cast.squad)
    drill = make.make_drill(skill=skill)
    for _number in range(number):
        player = make.make_player(squad=cast.squad)
        goal = edges.film_goal(cast, player, skill)
        edges.review(goal, in_week(cast).date(), "Too few chances to say anything yet.")
        sets = [{"drill": drill, "made": 4, "tried": 9}]
        make.make_workout(player, sets=sets, started_at=in_week(cast), minutes=700)
        comment = make.make_comment(film, cast.coach, [player], skill=skill)
        make.make_delivery(comment, player, sent_at=in_week(cast))


def questions(cast, kind, user):
    to = next(
        to for to in planning.addressees(cast.club) if to.kind == kind and to.recipient == user
    )
    week = weeks.last_complete_week(timezone.now(), cast.club.zone)
    with CaptureQueriesContext(connection) as asked:
        digest = facts.draft(club=cast.club, to=to, week=week)
        letter = emails.render(digest, unsubscribe_url="https://portal.example/stop/")
    return len(asked), letter


@pytest.mark.parametrize(("kind", "name"), [("coach", "coach"), ("director", "director")])
def test_fifty_players_cost_as_many_questions_as_two(cast, kind, name):
    crowd(cast, 2)
    few, _letter = questions(cast, kind, getattr(cast, name))
    crowd(cast, 48)
    many, letter = questions(cast, kind, getattr(cast, name))
    print(f"{kind}: {few} queries for 2 players, {many} for 50; {len(letter.html)} bytes of HTML")
    assert many == few
    assert len(letter.html.encode()) < 60_000
    assert_the_same(letter)


def test_a_guardian_of_four_costs_as_many_questions_as_of_two(cast):
    def all_of_them():
        for player in (cast.kid, cast.sibling):
            make.make_workout(player, started_at=in_week(cast), minutes=30)

    all_of_them()
    few, _letter = questions(cast, "guardian", cast.guardian)
    for _number in range(2):
        more = make.make_player(squad=cast.squad)
        make.make_guardian(cast.guardian, more)
        make.make_workout(more, started_at=in_week(cast), minutes=30)
    many, letter = questions(cast, "guardian", cast.guardian)
    print(f"guardian: {few} queries for 2 children, {many} for 4; {len(letter.html)} bytes")
    assert many == few
    assert len(letter.html.encode()) < 60_000


def test_who_plays_in_two_squads_counts_once_in_the_whole_club(busy):
    """Ines plays in both: one goal, one comment, one hurt, one week past the limits."""
    edges.too_many_hours(busy)
    today = timezone.now().date()
    SquadPlayer.objects.create(player=busy.kid, squad=busy.other_squad, since=today)
    busy.kid.consents.update(withdrawn_at=timezone.now())
    letter = letter_for(busy, "director", busy.director)
    whole, *squads = re.split(r"-{8,}", letter.text)
    assert "1 of 4 players got feedback from film; 0 of 1 comments were opened." in whole
    assert "Goals: 3 live, 0 paused, 0 closed" in whole
    assert "1 player’s week, of the hours we know of, lies past" in whole
    assert "without consent to film: 3" in whole
    assert "pain answers open: 1" in whole
    told = "\n".join(squads)
    assert "1 of 3 players got" in told, "each squad tells of all its players"
    assert "1 of 2 players got" in told
    assert told.count("1 player’s week, of the hours we know of, lies past") == 2


def test_a_mail_and_the_club_s_page_count_weeks_past_the_limits_alike(client, busy):
    """Too few days of rest count in both, as on a family's page."""
    start = weeks.bounds(*edges.last_week(busy), busy.club.zone)[0]
    for days in range(7):
        at = start + timedelta(days=days, hours=12)
        make.make_workout(busy.mate, kind="own", minutes=10, started_at=at)
    edges.too_many_hours(busy)
    text = letter_for(busy, "director", busy.director).text
    assert "2 players’ weeks, of the hours we know of, lie past" in text
    client.force_login(busy.director)
    page = client.get(reverse("progress:club")).content.decode()
    assert "The weeks of 2 players lie past the published limits." in page
    assert "0 days with nothing logged; at least 1 a week is published for" in page


def test_words_of_goals_stand_in_one_order_and_only_those_that_occur(busy):
    edges.drill_goal(busy, player=busy.mate, chances_needed=None)
    drill = busy.mate.goals.latest("created_at").drill
    for days in (1, 2, 3):
        at = timezone.now() - timedelta(days=days)
        make.make_workout(busy.mate, started_at=at, sets=[{"drill": drill, "made": 2, "tried": 20}])
    text = letter_for(busy, "coach", busy.coach).text
    assert "Behind: 1; Not enough evidence yet: 3" in text

"""Statuses through the database: what is counted for each measure, and in how many queries."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from devplans.core.models import AuditEntry
from devplans.goals import services
from devplans.goals.models import Goal
from devplans.goals.status import statuses
from devplans.goals.status.alike import squad_icc
from devplans.goals.status.reading import known, ruling_of
from devplans.goals.zones import zones_of
from devplans.stats.court_places import zone_places
from devplans.tallies import services as tallies
from devplans.tallies.models import TallyMark
from devplans.workouts.models import Shot
from tests import factories as make
from tests.goals.steps import an_aim, log
from tests.goals.test_life import aim_of

# The goals of these tests began on a Wednesday, four weeks before the clock's.
BEGAN = datetime(2026, 11, 11, 12, tzinfo=UTC)


@pytest.fixture
def began(people, clock):
    """Begins a goal four weeks ago and comes back to today."""

    def begin(player=None, **fields):
        now, clock.now = clock.now, BEGAN
        aim = an_aim(fields.pop("skill", people.skill), today=BEGAN.date(), **fields)
        draft = services.add_goal(actor=people.coach, player=player or people.kid, aim=aim)
        goal = services.make_live(actor=people.coach, goal=draft)
        clock.now = now
        return goal

    return begin


def standing(goal, clock):
    found = statuses([goal], clock.now)[goal.pk]
    json.dumps(found.as_facts())
    return found


def on(day, hour=17):
    return datetime(2026, 11, day, hour, tzinfo=UTC)


def test_a_drill_counts_from_the_day_it_began_to_today(people, clock, began):
    goal = began(drill=people.drill)
    log(people.kid, people.drill, on(10), made=9, tried=10)
    log(people.kid, people.drill, on(11), made=7, tried=10)
    log(people.kid, people.drill, on(24), made=8, tried=10)
    log(people.kid, make.make_drill(), on(24), made=1, tried=10)
    log(people.mate, people.drill, on(24), made=1, tried=10)
    found = standing(goal, clock)
    assert (found.made, found.tried, found.source) == (15, 20, "Power layups")
    assert 0 < found.low < 0.75 < found.high < 1
    assert found.next_review.isoformat() == "2026-12-09"
    assert "15 of 20 made since 11 November." in found.sentence


def test_what_is_logged_after_the_due_date_is_not_counted(people, clock, began):
    goal = began(drill=people.drill, due_on=on(25).date())
    log(people.kid, people.drill, on(25), made=15, tried=20)
    log(people.kid, people.drill, on(26), made=0, tried=20)
    found = standing(goal, clock)
    assert (found.word, found.made, found.tried) == ("met", 15, 20)
    assert found.is_settled
    assert found.settles == ""
    assert found.next_review is None


def test_shots_of_a_zone_follow_the_clubs_lines(people, clock, began):
    goal = began(measure="zone_share", zone="top")
    place = next(one for one in zone_places(people.club.rule_set) if one.name == "top")
    workout = make.make_workout(people.kid, started_at=on(24))
    for number in range(10):
        Shot.objects.create(
            workout=workout, position=number, x_mm=place.x_mm, y_mm=place.y_mm, made=number < 7
        )
    Shot.objects.create(workout=workout, position=11, x_mm=0, y_mm=3_000, made=True)
    found = standing(goal, clock)
    assert (found.made, found.tried, found.source) == (7, 10, "Top, three")
    # Between the lines of the two rule sets.
    Shot.objects.filter(position__lt=10).update(y_mm=6_900)
    assert standing(goal, clock).tried == 10
    people.club.rule_set = "nba"
    people.club.save()
    assert standing(goal, clock).tried == 0


def shots_from_the_top(people, player, at, made, tried):
    place = next(one for one in zone_places(people.club.rule_set) if one.name == "top")
    workout = make.make_workout(player, started_at=at)
    Shot.objects.bulk_create(
        Shot(workout=workout, position=n, x_mm=place.x_mm, y_mm=place.y_mm, made=n < made)
        for n in range(tried)
    )


def test_a_zone_s_shots_are_as_alike_as_those_of_the_squad(people, clock, began):
    """The sessions of twelve weeks, as for a drill; of the player's alone too few tell."""
    goal = began(measure="zone_share", zone="top", target_share=0.5)
    periods = []
    for player in (people.kid, people.mate, make.make_player(squad=people.squad)):
        made = [4 + (n * 5 + len(periods)) % 9 for n in range(11)]
        periods.append([(one, 20) for one in made])
        for days, one in enumerate(made):
            shots_from_the_top(people, player, clock.now - timedelta(days=days + 1), one, 20)
    long_ago = clock.now - timedelta(weeks=13)
    shots_from_the_top(people, people.mate, long_ago, 20, 20)
    stranger = make.make_player(squad=make.make_squad(club=people.club))
    shots_from_the_top(people, stranger, on(24), 20, 20)
    found = known([goal], clock.now)[0]
    assert len(found.evidence.sessions) == 11
    assert found.evidence.icc == pytest.approx(squad_icc(periods))
    effect = 1 + 19 * squad_icc(periods)
    assert effect > 1
    assert ruling_of(found).effect == pytest.approx(effect)
    people.squad.squadplayers.exclude(player=people.kid).delete()
    alone = known([goal], clock.now)[0]
    assert alone.evidence.icc is None
    assert ruling_of(alone).effect > 1


def test_a_mark_counts_sets_by_seconds_or_makes(people, clock, began):
    hold = make.make_drill(counts="seconds")
    held = began(measure="drill_mark", drill=hold, mark_kind="seconds_least", mark=30)
    quick = began(measure="drill_mark", drill=hold, mark_kind="seconds_most", mark=30)
    makes = began(measure="drill_mark", drill=people.drill, mark_kind="makes_least", mark=8)
    sets = [{"drill": hold, "seconds": seconds} for seconds in (29, 30, 31, 45)]
    sets += [{"drill": people.drill, "made": made, "tried": 10} for made in (7, 8, 9)]
    make.make_workout(people.kid, started_at=on(24), sets=[*sets, {"drill": hold}])
    found = statuses([held, quick, makes], clock.now)
    assert [(found[one.pk].made, found[one.pk].tried) for one in (held, quick, makes)] == [
        (3, 4), (2, 4), (2, 3),
    ]  # fmt: skip
    assert "2 of 3 sets reached the mark since 11 November." in found[makes.pk].sentence


def test_a_set_with_shots_reaches_its_mark_by_them(people, clock, began):
    goal = began(measure="drill_mark", drill=people.drill, mark_kind="makes_least", mark=2)
    workout = make.make_workout(people.kid, started_at=on(24), sets=[{"drill": people.drill}])
    for number in range(4):
        Shot.objects.create(
            workout=workout, set=workout.sets.get(), position=number, x_mm=0, y_mm=900,
            made=number < 2,
        )  # fmt: skip
    assert (standing(goal, clock).made, standing(goal, clock).tried) == (1, 1)


def test_reps_are_weeks_and_a_pause_is_known(people, clock, began):
    goal = began(measure="reps_per_week", drill=people.drill, target_share=None, target_reps=40)
    for week, tried in ((16, 45), (23, 50), (30, 5)):
        log(people.kid, people.drill, datetime(2026, 11, week, 17, tzinfo=UTC), made=3, tried=tried)
    found = standing(goal, clock)
    assert (found.weeks, found.reps) == (3, 33)
    now, clock.now = clock.now, datetime(2026, 12, 1, 12, tzinfo=UTC)
    services.pause_goal(actor=people.coach, goal=goal)
    AuditEntry.objects.filter(verb="goals.goal_paused").update(at=clock.now)
    assert "Paused since 1 December" in standing(goal, clock).sentence
    clock.now = datetime(2026, 12, 5, 12, tzinfo=UTC)
    services.resume_goal(actor=people.coach, goal=goal)
    AuditEntry.objects.filter(verb="goals.goal_resumed").update(at=clock.now)
    clock.now = now
    found = standing(goal, clock)
    assert (found.weeks, found.reps, found.word) == (2, 48, "on the way")


def test_a_moved_target_says_since_when_it_stands(people, clock, began):
    goal = began(drill=people.drill)
    assert "target stands" not in standing(goal, clock).sentence
    goal.refresh_from_db()
    services.change_goal(actor=people.coach, goal=goal, aim=replace(aim_of(goal), target_share=0.8))
    AuditEntry.objects.filter(verb="goals.target_changed").update(at=clock.now)
    assert (
        "The target stands since 9 December; before, it was 70 %." in standing(goal, clock).sentence
    )


def test_who_left_the_squad_gets_no_forecast(people, clock, began):
    goal = began(drill=people.drill)
    for day in (12, 19, 26):
        log(people.kid, people.drill, on(day), made=28, tried=40)
    assert standing(goal, clock).word in {"on the way", "could go either way"}
    people.kid.squadplayers.update(until=clock.now.date() - timedelta(days=2))
    found = standing(goal, clock)
    assert found.word == "not enough evidence yet"
    assert "Ines has left the squad" in found.sentence
    assert "84 of 120 made" in found.sentence


def count(people, film, marks, *, coach=None, scope="whole"):
    """A closed tally with these chances of the kid."""
    tally = tallies.start_tally(
        actor=coach or people.coach, film=film, skills=[people.skill], players=[people.kid],
        scope=scope,
    )  # fmt: skip
    for number, did_it in enumerate(marks):
        TallyMark.objects.create(
            tally=tally, film_ms=10_000 * (number + 1), player=people.kid, skill=people.skill,
            did_it=did_it,
        )  # fmt: skip
    return tallies.close_tally(actor=coach or people.coach, tally=tally, sure=True)


def a_film(people, at):
    return make.make_film(people.squad, duration_ms=900_000, recorded_at=at)


def test_film_is_one_coachs_whole_counts_and_what_others_counted_beside_it(people, clock, began):
    second = make.make_user("Sigrun")
    make.make_member(second, "coach", club=people.club, squad=people.squad)
    goal = began(measure="film_rate")
    film = a_film(people, on(21))
    count(people, film, [True] * 6 + [False] * 2)
    count(people, a_film(people, on(28)), [True] * 8 + [False] * 8)
    count(people, film, [True] * 3 + [False] * 4, coach=second)
    found = standing(goal, clock)
    assert (found.made, found.tried) == (14, 24)
    assert found.source == "from film, did it / chances"
    assert "Took 14 of 24 chances since 11 November (counted on 2 films by Ravel" in found.sentence
    assert "Not added to it: 3 of 7" in found.sentence


def test_nothing_counted_and_no_such_goal(people, clock, began):
    goal = began(measure="film_rate")
    found = standing(goal, clock)
    assert (found.word, found.low, found.high) == ("not enough evidence yet", None, None)
    assert found.sentence.startswith("No chance counted on film since 11 November.")
    assert statuses([], clock.now) == {}


def test_every_zone_of_every_rule_set_has_a_name():
    for rules in ("fiba", "nba", "ncaa", "nfhs"):
        assert all(str(name) for name in zones_of(rules).values())
        assert "free-throw" in zones_of(rules)


MEASURES = [
    {"measure": "film_rate"},
    {"measure": "drill_share"},
    {"measure": "zone_share", "zone": "top"},
    {"measure": "drill_mark", "mark_kind": "makes_least", "mark": 6},
    {"measure": "reps_per_week", "target_share": None, "target_reps": 40},
]


def fill(people, players, goals_each):
    """Goals of every measure, with workouts, shots and a tally behind them."""
    for number, player in enumerate(players):
        for which in range(goals_each):
            fields = {"target_share": 0.7, **MEASURES[(number + which) % len(MEASURES)]}
            if fields["measure"] not in {"film_rate", "zone_share"}:
                fields["drill"] = people.drill
            Goal.objects.create(
                player=player, skill=people.skill, life="live",
                started_on=(BEGAN + timedelta(days=number % 5)).date(),
                due_on=BEGAN.date() + timedelta(weeks=12), review_dates=["2026-12-20"], **fields,
            )  # fmt: skip
        for day in (12, 19, 26):
            workout = log(player, people.drill, on(day), made=7, tried=10)
            Shot.objects.create(workout=workout, position=1, x_mm=0, y_mm=7_500, made=True)


@pytest.mark.once
def test_queries_do_not_grow_from_two_goals_to_a_hundred(people, clock):
    counts = []
    for players, each in ((1, 5), (49, 2)):
        fill(people, [make.make_player(squad=people.squad) for _n in range(players)], each)
        goals = list(Goal.objects.all())
        with CaptureQueriesContext(
            connection,
        ) as queries:
            found = statuses(goals, clock.now)
        assert len(found) == len(goals)
        counts.append((len(goals), len(queries)))
    assert counts[0][0] == 5
    assert counts[1][0] > 100
    assert counts[0][1] == counts[1][1] <= 16, counts

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.goals import aims, services
from devplans.goals.models import Goal, GoalExample
from tests import factories as make
from tests.goals.steps import an_aim


def aim_of(goal):
    names = (
        "skill", "measure", "due_on", "drill", "words", "start_made", "start_tried", "start_reps",
        "target_share", "target_reps", "chances_needed",
    )  # fmt: skip
    return aims.Aim(**{name: getattr(goal, name) for name in names})


def test_a_goal_is_a_draft_that_the_family_does_not_see(people, draft):
    assert draft.life == "draft"
    assert draft.author == people.coach
    for user in (people.coach, people.director):
        assert list(Goal.objects.visible_to(user)) == [draft]
    for user in (people.player, people.guardian, people.welfare, people.outsider):
        assert not Goal.objects.visible_to(user).exists()


def test_a_live_goal_is_seen_by_its_family_and_no_other(people, live):
    seen = {
        name: Goal.objects.visible_to(getattr(people, name)).exists()
        for name in ("player", "guardian", "welfare", "teammate", "mate_guardian", "ex_guardian",
                     "other_coach", "outsider", "stranger")
    }  # fmt: skip
    assert {name for name, sees in seen.items() if sees} == {"player", "guardian", "welfare"}


def test_going_live_fixes_the_review_dates(people, live):
    assert live.started_on == date(2026, 12, 9)
    assert live.review_dates == ["2027-01-06", "2027-02-03", "2027-03-03"]
    assert AuditEntry.objects.filter(verb="goals.goal_begun", player_id=people.kid.pk).exists()
    with pytest.raises(DomainError) as refused:
        services.make_live(actor=people.coach, goal=live)
    assert refused.value.code == "goal.not_draft"


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (1, [1]), (28, [28]), (29, [28, 29]), (112, [28, 56, 84, 112]),
        (140, [28, 56, 84, 112, 140]), (200, [40, 80, 120, 160, 200]),
    ],
)  # fmt: skip
def test_reviews_are_every_four_weeks_and_at_most_five(days, expected):
    start = date(2026, 12, 9)
    reviews = aims.review_dates(start, start + timedelta(days=days))
    assert [(day - start).days for day in reviews] == expected


@pytest.mark.parametrize("days", [0, -3])
def test_no_reviews_without_time(days):
    with pytest.raises(ValueError, match="does not come after"):
        aims.review_dates(date(2026, 12, 9), date(2026, 12, 9) + timedelta(days=days))


def begin(people, count):
    return [
        services.make_live(
            actor=people.coach,
            goal=services.add_goal(
                actor=people.coach,
                player=people.kid,
                aim=an_aim(make.make_skill(), measure="film_rate"),
            ),
        )
        for _number in range(count)
    ]


def test_three_live_goals_are_the_most(people, draft):
    goals = begin(people, 3)
    with pytest.raises(DomainError, match="Three live goals are the most") as refused:
        services.make_live(actor=people.coach, goal=draft)
    assert refused.value.code == "goal.too_many"
    draft.refresh_from_db()
    assert (draft.life, draft.review_dates) == ("draft", [])
    services.pause_goal(actor=people.coach, goal=goals[0])
    services.make_live(actor=people.coach, goal=draft)
    with pytest.raises(DomainError) as refused:
        services.resume_goal(actor=people.coach, goal=goals[0])
    assert refused.value.code == "goal.too_many"
    assert Goal.objects.live().filter(player=people.kid).count() == 3


def test_another_players_goals_take_no_room(people, draft):
    begin(people, 3)
    aim = an_aim(people.skill, measure="film_rate")
    other = services.add_goal(actor=people.coach, player=people.mate, aim=aim)
    assert services.make_live(actor=people.coach, goal=other).life == "live"


def test_closing_needs_a_word_and_is_final(people, live):
    with pytest.raises(DomainError) as refused:
        services.close_goal(actor=people.coach, goal=live, words="  ")
    assert refused.value.field == "words"
    closed = services.close_goal(actor=people.coach, goal=live, words=" You have it. ")
    assert (closed.life, closed.closing_words) == ("closed", "You have it.")
    assert closed.closed_on == date(2026, 12, 9)
    steps = [
        lambda: services.close_goal(actor=people.coach, goal=live, words="Again."),
        lambda: services.pause_goal(actor=people.coach, goal=live),
        lambda: services.resume_goal(actor=people.coach, goal=live),
        lambda: services.make_live(actor=people.coach, goal=live),
        lambda: services.change_goal(actor=people.coach, goal=live, aim=aim_of(live)),
    ]
    for step in steps:
        with pytest.raises(DomainError):
            step()


def test_a_begun_goal_keeps_its_start_and_may_move_its_target(people, live):
    for moved in ({"due_on": live.due_on + timedelta(days=7)}, {"start_made": 1, "start_tried": 2}):
        with pytest.raises(DomainError) as refused:
            services.change_goal(actor=people.coach, goal=live, aim=replace(aim_of(live), **moved))
        assert refused.value.code == "goal.fixed"
    aim = replace(aim_of(live), target_share=0.8, words="Both feet.")
    services.change_goal(actor=people.coach, goal=live, aim=aim)
    live.refresh_from_db()
    assert (live.target_share, live.words) == (0.8, "Both feet.")
    entry = AuditEntry.objects.get(verb="goals.target_changed")
    assert entry.detail == {"target_share": [0.7, 0.8]}


BAD_AIMS = [
    ({"drill": None}, "drill"),
    ({"target_share": None}, "target_percent"),
    ({"target_share": 1.2}, "target_percent"),
    ({"start_made": 3}, "start_made"),
    ({"start_made": 5, "start_tried": 4}, "start_made"),
    ({"due_on": date(2026, 12, 9)}, "due_on"),
    ({"due_on": date(2028, 1, 1)}, "due_on"),
    ({"measure": "reps_per_week"}, "target_reps"),
]


@pytest.mark.parametrize(("wrong", "field"), BAD_AIMS)
def test_what_cannot_be_a_goal(people, wrong, field):
    aim = replace(an_aim(people.skill, drill=people.drill), **wrong)
    with pytest.raises(DomainError) as refused:
        services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    assert refused.value.field == field
    assert not Goal.objects.exists()


def test_figures_of_another_measure_are_left_out(people):
    aim = an_aim(people.skill, drill=people.drill, measure="film_rate", target_reps=40)
    goal = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    assert (goal.drill, goal.target_reps, goal.target_share) == (None, None, 0.7)


def test_another_clubs_skill_is_none_of_ours(people):
    aim = an_aim(make.make_skill(club=people.far_club), measure="film_rate")
    with pytest.raises(DomainError) as refused:
        services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    assert refused.value.field == "skill"


@pytest.mark.parametrize("name", ["player", "guardian", "director", "other_coach", "outsider"])
def test_only_the_players_coaches_write_goals(people, live, name):
    actor = getattr(people, name)
    steps = [
        lambda: services.add_goal(actor=actor, player=people.kid, aim=aim_of(live)),
        lambda: services.change_goal(actor=actor, goal=live, aim=aim_of(live)),
        lambda: services.pause_goal(actor=actor, goal=live),
        lambda: services.close_goal(actor=actor, goal=live, words="Done."),
    ]
    for step in steps:
        with pytest.raises(PermissionDenied):
            step()
    live.refresh_from_db()
    assert live.life == "live"
    assert Goal.objects.count() == 1


def a_delivery(people, player, **fields):
    film = make.make_film(people.squad)
    comment = make.make_comment(film, people.coach, [player], **{"skill": people.skill, **fields})
    return make.make_delivery(comment, player)


def test_an_example_is_the_players_own_clip_on_that_skill(people, live):
    delivery = a_delivery(people, people.kid)
    example = services.add_example(actor=people.coach, goal=live, delivery=delivery)
    again = services.add_example(actor=people.coach, goal=live, delivery=delivery)
    assert again == example
    assert list(GoalExample.objects.visible_to(people.guardian)) == [example]
    for wrong in (
        a_delivery(people, people.mate), a_delivery(people, people.kid, skill=make.make_skill())
    ):  # fmt: skip
        with pytest.raises(DomainError) as refused:
            services.add_example(actor=people.coach, goal=live, delivery=wrong)
        assert refused.value.code == "goal.example"
    services.remove_example(actor=people.coach, example=example)
    assert not GoalExample.objects.exists()
    delivery.refresh_from_db()
    assert delivery.withdrawn_at is None


def test_a_clip_that_was_taken_back_is_no_example_any_more(people, live, clock):
    delivery = a_delivery(people, people.kid)
    services.add_example(actor=people.coach, goal=live, delivery=delivery)
    delivery.withdrawn_at = clock.now
    delivery.save(update_fields=["withdrawn_at"])
    assert not GoalExample.objects.visible_to(people.coach).exists()
    with pytest.raises(DomainError):
        services.add_example(actor=people.coach, goal=live, delivery=delivery)

import random
from collections import Counter
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from devplans.core.errors import DomainError
from devplans.goals import reading, services, starting
from devplans.goals.models import Goal, PlanItem
from devplans.workouts.models import Shot
from tests import factories as make
from tests.goals.steps import an_aim, log

MONDAY = date(2026, 12, 7)
WEEK = timedelta(weeks=1)
COUNTS = ("made", "tried", "reps", "seconds")


def add(people, actor=None, **fields):
    fields = {"player": people.kid, "drill": people.drill, **fields}
    return services.add_plan_item(actor=actor or people.coach, **fields)


def spans(player):
    """What was asked for, as (drill, target, first week, last week)."""
    rows = PlanItem.objects.filter(player=player).order_by("from_week", "created_at")
    return [(row.drill.name, row.weekly_target, row.from_week, row.until_week) for row in rows]


def asked(player, week):
    """What the plan said of one week, drill by drill."""
    return {(row.item.drill.name, row.target) for row in reading.week_progress(player, week)}


def test_a_drill_begins_this_week_with_its_own_target(people):
    item = add(people, people.player)
    assert (item.from_week, item.until_week) == (MONDAY, None)
    assert (item.target_in, item.weekly_target) == ("makes", 40)
    assert item.added_by == people.player
    assert add(people, people.guardian) == item
    assert PlanItem.objects.count() == 1


def test_past_targets_never_change(people, clock):
    item = add(people, weekly_target=40)
    clock.now += WEEK
    second = services.change_plan_item(
        actor=people.coach, item=item, target_in="makes", weekly_target=60
    )
    clock.now += 2 * WEEK
    third = services.change_plan_item(
        actor=people.coach, item=second, target_in="tries", weekly_target=90
    )
    clock.now += WEEK
    services.end_plan_item(actor=people.coach, item=third)
    assert spans(people.kid) == [
        ("Power layups", 40, MONDAY, MONDAY),
        ("Power layups", 60, MONDAY + WEEK, MONDAY + 2 * WEEK),
        ("Power layups", 90, MONDAY + 3 * WEEK, MONDAY + 3 * WEEK),
    ]
    weeks = [(2026, 50), (2026, 51), (2026, 52), (2026, 53), (2027, 1)]
    assert [asked(people.kid, week) for week in weeks] == [
        {("Power layups", 40)}, {("Power layups", 60)}, {("Power layups", 60)},
        {("Power layups", 90)}, set(),
    ]  # fmt: skip


@pytest.mark.parametrize("seed", range(8))
def test_no_step_changes_what_past_weeks_asked_for(people, clock, seed):
    """Random steps over random weeks: what a week said when it was over, it says for ever."""
    chance = random.Random(seed)
    drills = [people.drill, make.make_drill(), make.make_drill()]
    aim = an_aim(people.skill, measure="film_rate")
    goal = services.add_goal(actor=people.coach, player=people.kid, aim=aim)
    services.make_live(actor=people.coach, goal=goal)
    kept = {}
    for _step in range(40):
        running = list(PlanItem.objects.running().filter(player=people.kid))
        step = chance.choice(["add", "add", "change", "end", "week"])
        target = chance.randint(1, 200)
        if step == "add":
            taken = {item.drill_id for item in running}
            free = [drill for drill in drills if drill.pk not in taken]
            if free:
                add(people, drill=chance.choice(free), goal=chance.choice([None, goal]))
        elif step == "change" and running:
            services.change_plan_item(
                actor=people.coach, item=chance.choice(running),
                target_in=chance.choice(["makes", "tries", "reps"]), weekly_target=target,
            )  # fmt: skip
        elif step == "end" and running:
            services.end_plan_item(actor=people.coach, item=chance.choice(running))
        elif step == "week":
            iso = clock.now.isocalendar()
            kept[(iso.year, iso.week)] = asked(people.kid, (iso.year, iso.week))
            clock.now += WEEK
    services.close_goal(actor=people.coach, goal=goal, words="Done.")
    assert len(kept) > 2
    assert {week: asked(people.kid, week) for week in kept} == kept


def test_a_change_within_its_first_week_leaves_one_row(people):
    item = add(people)
    services.change_plan_item(actor=people.coach, item=item, target_in="makes", weekly_target=55)
    assert spans(people.kid) == [("Power layups", 55, MONDAY, None)]
    services.end_plan_item(actor=people.coach, item=item)
    assert spans(people.kid) == []


def test_what_has_ended_stays_as_it_was(people, clock):
    item = add(people)
    clock.now += WEEK
    services.end_plan_item(actor=people.coach, item=item)
    for step in (
        lambda: services.end_plan_item(actor=people.coach, item=item),
        lambda: services.change_plan_item(
            actor=people.coach, item=item, target_in="makes", weekly_target=9
        ),
    ):
        with pytest.raises(DomainError) as refused:
            step()
        assert refused.value.code == "plan.past"
    assert spans(people.kid) == [("Power layups", 40, MONDAY, MONDAY)]


def test_the_plan_of_a_draft_asks_for_nothing_before_it_begins(people, draft, clock):
    add(people, goal=draft)
    assert reading.week_progress(people.kid) == []
    assert not PlanItem.objects.visible_to(people.player).exists()
    clock.now += WEEK
    services.make_live(actor=people.coach, goal=draft)
    assert asked(people.kid, (2026, 50)) == set()
    assert asked(people.kid, (2026, 51)) == {("Power layups", 40)}


def test_a_paused_goal_leaves_the_work_page_and_its_past_stays(people, live, clock):
    add(people, goal=live)
    clock.now += WEEK
    services.pause_goal(actor=people.coach, goal=live)
    assert reading.week_progress(people.kid) == []
    assert asked(people.kid, (2026, 50)) == {("Power layups", 40)}
    services.resume_goal(actor=people.coach, goal=live)
    assert asked(people.kid, (2026, 51)) == {("Power layups", 40)}


def test_closing_a_goal_ends_its_drills_with_last_week(people, live, clock):
    add(people, goal=live)
    clock.now += WEEK
    services.close_goal(actor=people.coach, goal=live, words="You have it.")
    assert spans(people.kid) == [("Power layups", 40, MONDAY, MONDAY)]


def test_a_drill_that_waits_in_a_draft_can_be_worked_on_now(people, draft):
    add(people, goal=draft)
    item = add(people, people.player)
    assert item.goal is None
    assert [row.item for row in reading.week_progress(people.kid)] == [item]


def test_a_players_own_drill_moves_to_the_goal_that_asks_for_it(people, live, clock):
    add(people, people.player)
    clock.now += WEEK
    item = add(people, goal=live, weekly_target=70)
    assert item.goal == live
    assert spans(people.kid) == [
        ("Power layups", 40, MONDAY, MONDAY),
        ("Power layups", 70, MONDAY + WEEK, None),
    ]


def test_a_draft_does_not_take_a_drill_from_the_player(people, draft):
    own = add(people, people.player)
    with pytest.raises(DomainError) as refused:
        add(people, goal=draft)
    assert refused.value.code == "plan.there"
    assert list(PlanItem.objects.all()) == [own]


@pytest.mark.parametrize("target", [0, -1, 10_001])
def test_a_target_is_a_number_one_can_do(people, target):
    with pytest.raises(DomainError) as refused:
        add(people, weekly_target=target)
    assert refused.value.field == "weekly_target"
    assert not PlanItem.objects.exists()


def test_twelve_drills_are_the_most(people):
    for _number in range(12):
        add(people, drill=make.make_drill())
    with pytest.raises(DomainError) as refused:
        add(people)
    assert refused.value.code == "plan.full"


def test_another_clubs_drill_is_none_of_ours(people):
    with pytest.raises(DomainError):
        add(people, drill=make.make_drill(club=people.far_club))


def test_who_may_write_a_plan(people, live):
    for name in ("teammate", "mate_guardian", "ex_guardian", "director", "welfare", "outsider"):
        with pytest.raises(PermissionDenied):
            add(people, getattr(people, name))
    for name in ("player", "guardian"):
        with pytest.raises(PermissionDenied):
            add(people, getattr(people, name), goal=live)
    item = add(people, goal=live)
    with pytest.raises(PermissionDenied):
        services.end_plan_item(actor=people.player, item=item)
    own = add(people, people.player, drill=make.make_drill())
    with pytest.raises(PermissionDenied):
        services.end_plan_item(actor=people.guardian, item=own)
    services.end_plan_item(actor=people.player, item=own)
    assert list(PlanItem.objects.all()) == [item]


def counted(kind, drill, sets, shots):
    """What a list of sets and shots makes of a target: told once more, without the database."""
    sums = Counter()
    for one in sets:
        sums["makes"] += one["made"] or 0
        sums["tries"] += one["tried"] or 0
        sums["reps"] += one["reps"] or 0
        sums["sets"] += 1
    for made in shots:
        sums["makes"] += made
        sums["tries"] += 1
    if kind == "reps" and drill.counts == "makes":
        return sums["tries"] + sums["reps"]
    if kind == "reps" and drill.counts == "seconds":
        return sums["sets"]
    return sums[kind]


def a_set(chance, drill):
    empty = {"drill": drill, "made": None, "tried": None, "reps": None, "seconds": None}
    if drill.counts == "makes":
        tried = chance.randint(0, 20)
        return empty | {"made": chance.randint(0, tried), "tried": tried}
    name = drill.counts
    return empty | {name: chance.randint(1, 30)}


def a_workout(chance, player, drills, at, deleted_at):
    """A workout with random sets, some counted by their shots, as (drill, set, shots)."""
    rows = [a_set(chance, chance.choice(drills)) for _ in range(chance.randint(0, 4))]
    workout = make.make_workout(player, started_at=at, sets=rows, deleted_at=deleted_at)
    told = []
    for row in workout.sets.all():
        shots = []
        if row.drill.counts == "makes" and chance.random() < 0.5:
            row.made = row.tried = None
            row.save(update_fields=["made", "tried"])
            shots = [chance.random() < 0.5 for _ in range(chance.randint(0, 9))]
        for position, made in enumerate(shots):
            Shot.objects.create(
                workout=workout, set=row, position=position, made=made, x_mm=0, y_mm=4000
            )
        told.append((row.drill_id, {name: getattr(row, name) for name in COUNTS}, shots))
    make.sum_weeks(workout)
    return told


@pytest.mark.parametrize("seed", range(10))
def test_the_weeks_progress_is_the_sum_of_what_was_logged(people, seed):
    chance = random.Random(seed)
    drills = [make.make_drill(counts=kind) for kind in ("makes", "reps", "seconds") for _ in "ab"]
    kinds = {drill.pk: chance.choice(["reps", "makes", "tries"]) for drill in drills}
    players = [people.kid, people.mate]
    inside = {(player.pk, drill.pk): ([], []) for player in players for drill in drills}
    for player in players:
        for drill in drills:
            add(people, player=player, drill=drill, target_in=kinds[drill.pk], weekly_target=50)
    # In winter a week in London begins at midnight UTC.
    start = datetime(2026, 12, 7, tzinfo=UTC)
    end = start + WEEK
    times = [start - timedelta(seconds=1), start, end - timedelta(seconds=1), end]
    times += [start + timedelta(seconds=chance.randint(-300_000, 900_000)) for _ in range(20)]
    for at in times:
        player, deleted_at = chance.choice(players), chance.choice([None, None, None, at])
        told = a_workout(chance, player, drills, at, deleted_at)
        for drill_id, one, shots in told if start <= at < end and not deleted_at else ():
            inside[player.pk, drill_id][0].append(one)
            inside[player.pk, drill_id][1].extend(shots)
    assert sum(len(sets) for sets, _shots in inside.values()) > 3
    for player in players:
        progress = reading.week_progress(player, (2026, 50))
        assert {row.item.drill_id: row.done for row in progress} == {
            drill.pk: counted(kinds[drill.pk], drill, *inside[player.pk, drill.pk])
            for drill in drills
        }


def test_drills_for_one_player_come_first(people):
    for count in (3, 1, 2, 1):
        add(people, drill=make.make_drill(players_needed=count))
    rows = reading.week_progress(people.kid)
    assert [row.item.drill.players_needed for row in rows] == [1, 1, 2, 3]


def test_progress_of_many_players_takes_as_many_queries(people, django_assert_num_queries):
    def grow(count):
        for _number in range(count):
            player = make.make_player(squad=people.squad)
            log(player, add(people, player=player).drill, datetime(2026, 12, 8, tzinfo=UTC), reps=5)

    players = type(people.kid).objects.in_squad(people.squad).select_related("club")
    for count in (2, 48):
        grow(count)
        shown = list(players.all())
        with django_assert_num_queries(3):
            found = reading.progress_of(shown, (2026, 50))
        assert sum(len(rows) for rows in found.values()) == PlanItem.objects.count()


def test_the_starting_point_is_the_last_four_complete_weeks(people):
    for day, made in [(6, 1), (1, 2), (-8, 4)]:
        at = datetime(2026, 12, 1, 12, tzinfo=UTC) + timedelta(days=day - 1)
        log(people.kid, people.drill, at, made=made, tried=10)
    # This week and the fifth week back do not count.
    log(people.kid, people.drill, datetime(2026, 12, 8, 12, tzinfo=UTC), made=9, tried=10)
    log(people.kid, people.drill, datetime(2026, 11, 8, 12, tzinfo=UTC), made=9, tried=10)
    goal = Goal(player=people.kid, skill=people.skill, measure="drill_share", drill=people.drill)
    today = date(2026, 12, 9)
    start = starting.start_of(goal, today)
    assert (start.made, start.tried) == (7, 30)
    assert starting.reps_a_week(people.kid, people.drill, today) == 8

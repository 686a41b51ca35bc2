"""A goal from draft to closed."""

from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.goals import aims, plans, starting
from devplans.goals.aims import Aim
from devplans.goals.days import this_monday, today_in
from devplans.goals.models import Goal
from devplans.goals.zones import zones_of
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player


@transaction.atomic
def add_goal(*, actor: Any, player: Player, aim: Aim) -> Goal:
    """Write a goal as a draft, seen by the player's coaches and directors only.

    Raises DomainError for what cannot be a goal.
    """
    access.require(actor, Action.COACH_PLAYER, player)
    aim = _checked(player, aim)
    goal = Goal.objects.create(player=player, author=actor, **aim.as_fields())
    _record(actor, "goals.goal_added", goal)
    return goal


@transaction.atomic
def change_goal(*, actor: Any, goal: Goal, aim: Aim) -> Goal:
    """Change a draft, or the words, target and chances of a goal that has begun.

    Raises DomainError "goal.closed", "goal.fixed" or what is wrong with the aim.
    """
    access.require(actor, Action.COACH_PLAYER, goal.player)
    held = _locked(goal)
    if held.life == Goal.Life.CLOSED:
        raise DomainError("goal.closed", _("This goal is closed. Set another one."))
    aim = aims.cleared(aim) if held.life != Goal.Life.DRAFT else _checked(held.player, aim)
    if held.life != Goal.Life.DRAFT:
        _check_begun(held, aim)
    changed = {k: v for k, v in aim.as_fields().items() if getattr(held, k) != v}
    if not changed:
        return held
    was = {name: getattr(held, name) for name in ("target_share", "target_reps", "chances_needed")}
    for name, value in changed.items():
        setattr(held, name, value)
    held.save(update_fields=[*changed, "updated_at"])
    moved = {k: [was[k], changed[k]] for k in was if k in changed}
    _record(actor, "goals.target_changed" if moved else "goals.goal_changed", held, **moved)
    return held


@transaction.atomic
def make_live(*, actor: Any, goal: Goal) -> Goal:
    """Begin a draft today: its review dates are fixed now, its drills are asked for from this week,
    and the sessions behind its starting point are kept where it was counted and not typed in.

    Raises DomainError "goal.not_draft", "goal.too_many", "goal.due".
    """
    access.require(actor, Action.COACH_PLAYER, goal.player)
    held = _locked(goal)
    if held.life != Goal.Life.DRAFT:
        raise DomainError("goal.not_draft", _("This goal has begun already."))
    _check_room(held)
    today = today_in(held.player.club.zone)
    if held.due_on <= today:
        raise DomainError("goal.due", _("The due date has passed: change it first."))
    held.started_on = today
    held.review_dates = [day.isoformat() for day in aims.review_dates(today, held.due_on)]
    zone = ZoneInfo(held.player.club.zone)
    written_on = [at.astimezone(zone).date() for at in (held.updated_at, held.created_at)]
    start = starting.behind(held, [today, *written_on])
    held.start_sessions = [list(one) for one in start.sessions]
    held.start_coach_id = start.coach_id
    plans.begin_items_of(held, this_monday(held.player.club.zone))
    held.life = Goal.Life.LIVE
    begun = ["started_on", "review_dates", "start_sessions", "start_coach", "life"]
    held.save(update_fields=[*begun, "updated_at"])
    _record(actor, "goals.goal_begun", held)
    return held


@transaction.atomic
def pause_goal(*, actor: Any, goal: Goal) -> Goal:
    """Set a live goal aside; its drills leave the work page. Raises DomainError "goal.not_live"."""
    access.require(actor, Action.COACH_PLAYER, goal.player)
    held = _locked(goal)
    if held.life != Goal.Life.LIVE:
        raise DomainError("goal.not_live", _("Only a live goal can be paused."))
    return _turn(actor, held, Goal.Life.PAUSED, "goals.goal_paused")


@transaction.atomic
def resume_goal(*, actor: Any, goal: Goal) -> Goal:
    """Take a paused goal up again. Raises DomainError "goal.not_paused" or "goal.too_many"."""
    access.require(actor, Action.COACH_PLAYER, goal.player)
    held = _locked(goal)
    if held.life != Goal.Life.PAUSED:
        raise DomainError("goal.not_paused", _("This goal is not paused."))
    _check_room(held)
    return _turn(actor, held, Goal.Life.LIVE, "goals.goal_resumed")


@transaction.atomic
def close_goal(*, actor: Any, goal: Goal, words: str) -> Goal:
    """End a goal, with a word to the player why; its drills end with last week.

    Raises DomainError "goal.closed", "goal.words".
    """
    access.require(actor, Action.COACH_PLAYER, goal.player)
    held = _locked(goal)
    if held.life == Goal.Life.CLOSED:
        raise DomainError("goal.closed", _("This goal is closed already."))
    if not words.strip():
        raise DomainError("goal.words", _("Say in a sentence why it ends."), field="words")
    zone = held.player.club.zone
    plans.end_items_of(held, this_monday(zone))
    held.life = Goal.Life.CLOSED
    held.closed_on = today_in(zone)
    held.closing_words = words.strip()
    held.save(update_fields=["life", "closed_on", "closing_words", "updated_at"])
    _record(actor, "goals.goal_closed", held)
    return held


def _checked(player: Player, aim: Aim) -> Aim:
    aim = aims.cleared(aim)
    for name in ("skill", "drill"):
        row = getattr(aim, name)
        if row is not None and row.club_id not in {None, player.club_id}:
            raise DomainError(
                "goal.catalogue", _("This is not in the club's catalogue."), field=name
            )
    if aim.zone and aim.zone not in zones_of(player.club.rule_set):
        raise DomainError("goal.zone", _("There is no such zone on this court."), field="zone")
    aims.check(aim, today_in(player.club.zone))
    return aim


def _check_begun(held: Goal, aim: Aim) -> None:
    moved = [name for name in aims.FIXED_WHILE_LIVE if getattr(held, name) != getattr(aim, name)]
    if moved:
        words = _("This is fixed once a goal has begun. Close it and set another one.")
        raise DomainError("goal.fixed", words, field=moved[0])
    aims.check_target(aim)


def _locked(goal: Goal) -> Goal:
    """The goal as it is kept now. Its player's row is the lock: no two goals begin at once."""
    player = Player.objects.select_for_update().get(pk=goal.player_id)
    held = Goal.objects.select_related("skill").get(pk=goal.pk)
    held.player = player
    return held


def _check_room(goal: Goal) -> None:
    live = Goal.objects.live().filter(player=goal.player).count()
    if live >= aims.MOST_LIVE:
        words = _(
            "Three live goals are the most: a fourth takes time from all of them. "
            "Pause or close one first."
        )
        raise DomainError("goal.too_many", words)


def _turn(actor: Any, goal: Goal, life: str, verb: str) -> Goal:
    goal.life = life
    goal.save(update_fields=["life", "updated_at"])
    _record(actor, verb, goal)
    return goal


def _record(actor: Any, verb: str, goal: Goal, **detail: Any) -> None:
    audit.record(actor, verb, goal, club_id=goal.player.club_id, player_id=goal.player_id, **detail)

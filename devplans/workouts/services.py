"""Writing workouts. A phone may say the same thing many times, late, and in two places at once."""

from typing import Any, Literal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill
from devplans.core import audit
from devplans.core.errors import Conflict, DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.stats.court_lines import court_lines
from devplans.workouts.after.services import follow_pain
from devplans.workouts.content import Content, Problems, Surroundings, problems
from devplans.workouts.models import Shot, Workout, WorkoutSet
from devplans.workouts.weeks.writing import write_weeks

Outcome = Literal["created", "unchanged", "replaced"]
# Of two that write the same row, one loses, looks again and finds the other's.
ATTEMPTS = 3


class Unfit(DomainError):
    """The workout breaks rules; `problems` says which, per field, sets and shots one by one."""

    def __init__(self, found: Problems) -> None:
        super().__init__("workout.unfit", _("Something in this workout cannot be right."))
        self.problems = found


def put_workout(
    *, actor: Any, player: Player, workout_id: UUID, revision: int, content: Content
) -> tuple[Workout, Outcome]:
    """Keep what a phone says of one workout, under the key that the phone made.

    The same revision with the same content writes nothing; a higher one replaces all of it.
    Raises PermissionDenied, Workout.DoesNotExist (the key is of a player whom the actor may not
    log for), Unfit, and Conflict (deleted; same revision with other content; a lower revision).
    """
    access.require(actor, Action.LOG_WORKOUT, player)
    for attempt in range(1, ATTEMPTS + 1):
        try:
            with transaction.atomic():
                return _put(actor, player, workout_id, revision, content)
        except IntegrityError:
            if attempt == ATTEMPTS:
                raise
    raise AssertionError("the loop returns or raises")


def delete_workout(*, actor: Any, workout: Workout) -> None:
    """Delete a workout with all it says. Its key stays taken: a late phone cannot bring it back."""
    access.require(actor, Action.LOG_WORKOUT, workout.player)
    with transaction.atomic():
        held = Workout.objects.select_for_update().get(pk=workout.pk)
        if held.deleted_at is not None:
            return
        _drop_parts(held)
        held.deleted_at = timezone.now()
        pain_before = held.pain
        held.pain = held.note = ""
        held.minutes = held.effort = None
        held.save(update_fields=["deleted_at", "pain", "note", "minutes", "effort", "updated_at"])
        follow_pain(actor=actor, workout=held, before=pain_before)
        write_weeks(workout.player, held.started_at)
        audit.record(
            actor,
            "workouts.workout_deleted",
            held,
            club_id=workout.player.club_id,
            player_id=held.player_id,
        )


def _put(
    actor: Any, player: Player, workout_id: UUID, revision: int, content: Content
) -> tuple[Workout, Outcome]:
    if Workout.objects.find_own(actor, workout_id) is None:
        drills = _fit(player, workout_id, content)
        return _create(actor, player, workout_id, revision, content, drills), "created"
    held = Workout.objects.select_for_update().get(pk=workout_id)
    if held.deleted_at is not None:
        raise Conflict("workout.deleted", _("This workout was deleted."))
    if held.revision == revision and held.content() == content:
        return held, "unchanged"
    drills = _fit(player, workout_id, content)
    if revision <= held.revision:
        raise Conflict("workout.revision", _("This workout was changed elsewhere."))
    if held.player_id != player.pk:
        raise Unfit({"player": [_("A workout stays with the player it was logged for.")]})
    return _replace(actor, held, revision, content, drills), "replaced"


def _fit(player: Player, workout_id: UUID, content: Content) -> dict[str, Drill]:
    """The drills that the content names, if it keeps the rules."""
    slugs = {one.drill for one in content.sets}
    # A club's own drill comes last, and so wins over a shipped one of the same slug.
    named = Drill.objects.for_club(player.club).filter(slug__in=slugs).order_by("club_id")
    drills = {
        drill.slug: drill for drill in sorted(named, key=lambda drill: drill.club_id is not None)
    }
    around = Surroundings(
        lines=court_lines(player.club.rule_set),
        drills=drills,
        now=timezone.now(),
        taken_sets=_taken(WorkoutSet, [one.id for one in content.sets], workout_id),
        taken_shots=_taken(Shot, [one.id for one in content.shots], workout_id),
    )
    if found := problems(content, around):
        raise Unfit(found)
    return drills


def _taken(model: Any, ids: list[UUID], workout_id: UUID) -> frozenset[UUID]:
    held = model.objects.filter(pk__in=ids).exclude(workout=workout_id)
    return frozenset(held.values_list("pk", flat=True)) if ids else frozenset()


def _facts(content: Content) -> dict[str, Any]:
    names = ("started_at", "minutes", "effort", "kind", "pain", "note")
    return {name: getattr(content, name) for name in names}


def _create(
    actor: Any,
    player: Player,
    workout_id: UUID,
    revision: int,
    content: Content,
    drills: dict[str, Drill],
) -> Workout:
    workout = Workout(
        pk=workout_id, player=player, logged_by=actor, revision=revision, **_facts(content)
    )
    workout.save(force_insert=True)
    _add_parts(workout, content, drills)
    audit.record(
        actor, "workouts.workout_logged", workout, club_id=player.club_id, player_id=player.pk
    )
    follow_pain(actor=actor, workout=workout, before="")
    write_weeks(player, workout.started_at)
    return workout


def _replace(
    actor: Any, held: Workout, revision: int, content: Content, drills: dict[str, Drill]
) -> Workout:
    pain_before, began = held.pain, held.started_at
    facts = _facts(content)
    for name, value in facts.items():
        setattr(held, name, value)
    held.revision = revision
    held.save(update_fields=[*facts, "revision", "updated_at"])
    _drop_parts(held)
    _add_parts(held, content, drills)
    # A phone sends each set as it is done: its revisions are the log, another person's are news.
    if held.logged_by_id != actor.pk:
        audit.record(
            actor,
            "workouts.workout_changed",
            held,
            club_id=held.player.club_id,
            player_id=held.player_id,
        )
    follow_pain(actor=actor, workout=held, before=pain_before)
    write_weeks(held.player, began, held.started_at)
    return held


def _drop_parts(workout: Workout) -> None:
    Shot.objects.filter(workout=workout).delete()
    WorkoutSet.objects.filter(workout=workout).delete()


def _add_parts(workout: Workout, content: Content, drills: dict[str, Drill]) -> None:
    WorkoutSet.objects.bulk_create(
        WorkoutSet(
            pk=one.id, workout=workout, position=place, drill=drills[one.drill], side=one.side,
            made=one.made, tried=one.tried, reps=one.reps, seconds=one.seconds,
        )
        for place, one in enumerate(content.sets)
    )  # fmt: skip
    Shot.objects.bulk_create(
        Shot(
            pk=one.id, workout=workout, set_id=one.set, position=place,
            x_mm=one.x_mm, y_mm=one.y_mm, made=one.made,
        )
        for place, one in enumerate(content.shots)
    )  # fmt: skip

"""Writing what comes after a workout: what hurts, the answer to it, and training elsewhere."""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import Conflict, DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.stats import weeks
from devplans.workouts import notices
from devplans.workouts.after.answering import may_answer
from devplans.workouts.after.weekly import Elsewhere
from devplans.workouts.models import OtherHours, PainAnswer, Workout

LONGEST_NOTE = 500
MOST_MINUTES = 80 * 60


def follow_pain(*, actor: Any, workout: Workout, before: str) -> None:
    """Keep the report of pain in step with a workout that was just written.

    before: what the workout said until now. New words make a report, or change the one that is
    open; words that are gone are marked as taken back, and the report stays open all the same.
    To be called inside the transaction that wrote the workout; the words are the workout's.
    """
    if workout.pain == before:
        return
    access.require(actor, Action.LOG_WORKOUT, workout.player)
    reports = PainAnswer.objects.select_for_update().filter(workout=workout)
    held = reports.open().first()
    if not workout.pain:
        held = held or reports.order_by("-created_at").first()
        if held is not None and held.taken_back_at is None:
            held.taken_back_at = timezone.now()
            held.save(update_fields=["taken_back_at", "updated_at"])
            _record(actor, "workouts.pain_taken_back", held)
    elif held is None:
        held = PainAnswer.objects.create(
            player=workout.player,
            workout=workout,
            said=workout.pain,
            said_at=timezone.now(),
            said_by=actor,
        )
        _record(actor, "workouts.pain_reported", held)
        notices.tell_of_pain(held, actor)
    else:
        _say_again(actor, held, workout.pain)


def _say_again(actor: Any, held: PainAnswer, words: str) -> None:
    """Other words in an open report; the earlier ones stay readable beside them."""
    held.taken_back_at = None
    if held.said != words:
        held.earlier = [*held.earlier, {"at": held.said_at.isoformat(), "said": held.said}]
        held.said, held.said_at, held.said_by = words, timezone.now(), actor
    held.save(
        update_fields=["said", "said_at", "said_by", "earlier", "taken_back_at", "updated_at"]
    )
    _record(actor, "workouts.pain_changed", held)


@transaction.atomic
def answer_pain(
    *, actor: Any, report: PainAnswer, answer: str, note: str = "", seen: datetime | None = None
) -> PainAnswer:
    """Answer a report for the player, or answer it anew.

    answer: of `PainAnswer.Answer`; note: for coach and player to read, up to 500 characters.
    seen: when the answer was given that the actor has read, None for none.
    Raises PermissionDenied unless the actor is one of those who answer, DomainError for another
    answer or a longer note, and Conflict where somebody else answered meanwhile.
    """
    if not may_answer(actor, report.player):
        raise PermissionDenied("only the family answers")
    held = PainAnswer.objects.select_for_update().get(pk=report.pk)
    note = note.strip()
    if answer not in PainAnswer.Answer.values:
        raise DomainError("pain.answer", _("Choose one of the answers."), field="answer")
    if len(note) > LONGEST_NOTE:
        raise DomainError("pain.note", _("Write less: 500 characters at most."), field="note")
    if held.answered_at != seen:
        raise Conflict(
            "pain.answered",
            _("Somebody else has answered meanwhile. Read that answer, then change it if need be."),
        )
    if (held.answer, held.note) == (answer, note):
        return held
    before = held.answer
    held.answer, held.note = answer, note
    held.answered_by, held.answered_at = actor, timezone.now()
    held.save(update_fields=["answer", "note", "answered_by", "answered_at", "updated_at"])
    detail = {"answer": answer} | ({"before": before} if before else {})
    _record(actor, "workouts.pain_answered", held, **detail)
    notices.tell_of_answer(held, actor)
    return held


@transaction.atomic
def tell_hours(
    *, actor: Any, player: Player, week: weeks.Week, elsewhere: Elsewhere | None
) -> OtherHours:
    """Keep what the family tells of a week's training elsewhere; None skips the question.

    The latest telling stands. Raises PermissionDenied, and DomainError for a week ahead, or for
    more than 80 hours of one kind or less than none.
    """
    access.require(actor, Action.TELL_HOURS, player)
    if week > weeks.week_of(timezone.now(), player.club.zone):
        raise DomainError("hours.week", _("That week has not begun."))
    minutes: dict[str, int | None] = {"team": None, "sport": None, "free": None}
    if elsewhere is not None:
        minutes |= asdict(elsewhere)
        for name, number in minutes.items():
            if number is None or not 0 <= number <= MOST_MINUTES:
                message = _("Give hours from 0 to 80.")
                raise DomainError("hours.range", message, field=name)
    facts = {f"{name}_minutes": number for name, number in minutes.items()}
    row, created = OtherHours.objects.update_or_create(
        player=player, iso_year=week[0], iso_week=week[1], defaults={**facts, "told_by": actor}
    )
    audit.record(
        actor,
        "workouts.hours_told",
        row,
        club_id=player.club_id,
        player_id=player.pk,
        week=weeks.format_label(week),
        again=not created,
        skipped=elsewhere is None,
    )
    return row


def _record(actor: Any, verb: str, report: PainAnswer, **detail: Any) -> None:
    audit.record(
        actor,
        verb,
        report,
        club_id=report.player.club_id,
        player_id=report.player_id,
        **detail,
    )

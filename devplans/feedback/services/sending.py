from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.core.ids import uuid7
from devplans.feedback import cutting, notices, roster, rules, standing, wording
from devplans.feedback.models import Comment, Delivery
from devplans.feedback.services.drafts import hold_back, require_open_draft
from devplans.feedback.standing import Standing
from devplans.feedback.voices import keeping
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player
from devplans.threads.models import Thread


class NotSendable(DomainError):
    """Why comments cannot be sent: `problems` are sentences by comment id."""

    def __init__(self, problems: dict[UUID, list[str]]) -> None:
        words = " ".join(sentence for sentences in problems.values() for sentence in sentences)
        super().__init__("comments.not_sendable", words, field="comments")
        self.problems = problems


def _locked(comments: Iterable[Comment]) -> list[Comment]:
    keys = [comment.pk for comment in comments]
    rows = Comment.objects.select_for_update(of=("self",)).filter(pk__in=keys)
    rows = rows.select_related("film__squad__season__club", "film__event", "skill", "voice")
    return list(rows.prefetch_related("players__user").order_by("start_ms", "pk"))


def _problems_of(comment: Comment, standings: dict[UUID, Standing]) -> list[str]:
    """What keeps a draft from being sent, in sentences."""
    found = []
    for check in (rules.check_sendable_film, rules.check_sendable_words, keeping.check_names):
        try:
            check(comment)
        except DomainError as error:
            found.append(str(error))
    players = list(comment.players.all())
    if not players:
        found.append(_("Nobody is named."))
    for player in players:
        found += standings[player.pk].without(comment.author_id).lacks
    return found


@transaction.atomic
def send_comments(*, actor: Any, comments: Iterable[Comment]) -> list[Comment]:
    """Send drafts, all or none: a delivery and a thread per player, a clip each, one notice per
    person. Comments that were sent before are left as they are. A draft that was handed over keeps
    its author; who sends it is kept beside him.

    Raises PermissionDenied, and NotSendable with a list of sentences per comment.
    """
    locked = _locked(comments)
    drafts = [comment for comment in locked if comment.sent_at is None]
    for comment in drafts:
        require_open_draft(actor=actor, comment=comment)
    by_club: dict[Any, list[Comment]] = {}
    for comment in drafts:
        by_club.setdefault(comment.film.squad.season.club, []).append(comment)
    standings: dict[UUID, Standing] = {}
    for club, theirs in by_club.items():
        players = [player for comment in theirs for player in comment.players.all()]
        standings |= standing.standing_of(players, club=club, author=actor)
    problems = {one.pk: found for one in drafts if (found := _problems_of(one, standings))}
    if problems:
        raise NotSendable(problems)
    sending = uuid7()
    for club, theirs in by_club.items():
        deliveries = [one for comment in theirs for one in _deliver(actor, comment, sending)]
        notices.queue_notices(sending, deliveries, club=club, author=actor, standings=standings)
    return locked


def _deliver(actor: Any, comment: Comment, sending: UUID) -> list[Delivery]:
    comment.sent_at, comment.sending, comment.sender = timezone.now(), sending, actor
    comment.save(update_fields=["sent_at", "sending", "sender", "updated_at"])
    club = comment.film.squad.season.club
    players = list(comment.players.all())
    entries = wording.entries_by_player(roster.roster(comment.film, extra=players))
    made = []
    for player in players:
        thread = Thread.objects.create(
            club=club, squad=comment.film.squad, player=player, author=actor
        )
        happened, do_instead = wording.words_for(comment, player, players, entries)
        made.append(
            Delivery.objects.create(
                thread=thread,
                comment=comment,
                player=player,
                happened=happened,
                do_instead=do_instead,
                sent_at=comment.sent_at,
            )
        )
        audit.record(actor, "feedback.comment_sent", comment, club_id=club.pk, player_id=player.pk)
    cutting.order_clip(comment)
    return made


@transaction.atomic
def send_film(*, actor: Any, film: Film, players: Sequence[Player]) -> list[Comment]:
    """Send the actor's drafts of a film, and those handed over to him, to `players`; everything
    else waits as drafts.

    Who has no consent or no second adult is held back, and so is a "not yet" without its answer,
    and a voice that names somebody else.
    Returns what was sent. Raises DomainError "send.nothing" where that is nothing.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    if not film.is_ready:
        message = _("The film is still on its way. Send the comments when it is ready.")
        raise DomainError("film.not_ready", message)
    drafts = _locked(Comment.objects.to_send_by(actor).of_film(film))
    everyone = [player for comment in drafts for player in comment.players.all()]
    standings = standing.standing_of(everyone, club=film.squad.season.club, author=actor)
    chosen = {player.pk for player in players}
    ready = []
    for comment in drafts:
        is_past_end = film.duration_ms is not None and comment.start_ms > film.duration_ms
        if comment.lacks_answer or is_past_end or keeping.names_of(comment):
            continue
        on_it = list(comment.players.all())
        waiting = [
            player
            for player in on_it
            if player.pk not in chosen
            or not standings[player.pk].without(comment.author_id).can_get
        ]
        if len(waiting) < len(on_it):
            hold_back(actor=actor, comment=comment, players=waiting)
            ready.append(comment)
    if not ready:
        raise DomainError("send.nothing", _("There is nothing that could be sent."))
    return send_comments(actor=actor, comments=ready)

"""*Waiting for you*: what a coach has to deal with, each row with the page where it is done."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from devplans.feedback import standing
from devplans.feedback.models import Comment, Delivery
from devplans.film.models import Film
from devplans.people.access import Role
from devplans.people.models import Club, Invitation, Player, Squad
from devplans.talkthrough.models import TalkThrough
from devplans.talkthrough.reading import to_correct
from devplans.threads.models import Reply
from devplans.workouts.after.reading import Pain, open_for_coach

UNOPENED_AFTER = timedelta(days=3)
FORGOTTEN_AFTER = timedelta(days=30)
NEW_FILM_FOR = timedelta(days=14)
MOST_ROWS = 50


@dataclass
class Held:
    """A player whose comments wait: why, how many, and a film they are on."""

    player: Player
    lacks: list[str]
    film: Film
    count: int = 0


@dataclass
class HandedOver:
    """Drafts on one film that another coach has handed over."""

    film: Film
    author: str
    count: int = 0


@dataclass
class Waiting:
    """The lists of the page, each the most pressing first."""

    pains: list[Pain] = field(default_factory=list)
    questions: list[Reply] = field(default_factory=list)
    handed_over: list[HandedOver] = field(default_factory=list)
    held: list[Held] = field(default_factory=list)
    talks: list[TalkThrough] = field(default_factory=list)
    films: list[Film] = field(default_factory=list)
    unopened: list[Delivery] = field(default_factory=list)
    invitations: list[Invitation] = field(default_factory=list)

    @property
    def count(self) -> int:
        lists = (
            self.pains, self.questions, self.handed_over, self.held, self.talks, self.films,
            self.unopened, self.invitations,
        )  # fmt: skip
        return sum(len(rows) for rows in lists)


def waiting_for(user: Any) -> Waiting:
    """Everything that waits for `user` as a coach, in a fixed number of queries."""
    squads = Squad.objects.for_role(user, Role.COACH)
    return Waiting(
        pains=open_for_coach(user),
        questions=list(_questions(squads)[:MOST_ROWS]),
        handed_over=_handed_over(user, squads)[:MOST_ROWS],
        held=_held(user, squads)[:MOST_ROWS],
        talks=to_correct(user)[:MOST_ROWS],
        films=list(_films(user, squads)[:MOST_ROWS]),
        unopened=list(_unopened(squads)[:MOST_ROWS]),
        invitations=list(_invitations(user)[:MOST_ROWS]),
    )


def _questions(squads: QuerySet[Squad]) -> QuerySet[Reply]:
    open_ones = Reply.objects.filter(is_question=True, answered_at=None, thread__squad__in=squads)
    return open_ones.select_related("author", "thread__player", "thread__squad").order_by(
        "created_at"
    )


def _handed_over(user: Any, squads: QuerySet[Squad]) -> list[HandedOver]:
    """Drafts that other coaches of the squad have handed over, by film and author."""
    drafts = Comment.objects.to_send_by(user).filter(film__squad__in=squads).exclude(author=user.pk)
    found: dict[tuple[UUID, UUID | None], HandedOver] = {}
    for draft in drafts.select_related("film__squad", "author").order_by("handed_over_at"):
        place = (draft.film_id, draft.author_id)
        author = draft.author.full_name if draft.author else ""
        found.setdefault(place, HandedOver(draft.film, author)).count += 1
    return list(found.values())


def _held(user: Any, squads: QuerySet[Squad]) -> list[Held]:
    """Players of the coach's drafts for whom nothing can be delivered, and what is missing."""
    drafts = Comment.objects.to_send_by(user).filter(film__squad__in=squads)
    rows = drafts.select_related("film__squad__season__club").prefetch_related("players")
    by_club: dict[Club, list[Comment]] = defaultdict(list)
    for draft in rows.order_by("created_at"):
        by_club[draft.film.squad.season.club].append(draft)
    found: dict[UUID, Held] = {}
    for club, theirs in by_club.items():
        players = [player for draft in theirs for player in draft.players.all()]
        stands = standing.standing_of(players, club=club, author=user)
        for draft in theirs:
            for player in draft.players.all():
                if not stands[player.pk].can_get:
                    held = Held(player, stands[player.pk].lacks, draft.film)
                    found.setdefault(player.pk, held).count += 1
    return list(found.values())


def _films(user: Any, squads: QuerySet[Squad]) -> QuerySet[Film]:
    """Films with drafts of the coach that are not sent, and new ones he has not commented on."""
    own_drafts = Q(comments__author=user.pk, comments__sent_at=None, comments__handed_over_at=None)
    films = Film.objects.filter(squad__in=squads, state=Film.State.READY).annotate(
        drafts=Count("comments", filter=own_drafts, distinct=True),
        all_comments=Count("comments", distinct=True),
    )
    new = Q(all_comments=0, ready_at__gte=timezone.now() - NEW_FILM_FOR)
    return (
        films.filter(Q(drafts__gt=0) | new).select_related("squad", "event").order_by("-created_at")
    )


def _unopened(squads: QuerySet[Squad]) -> QuerySet[Delivery]:
    """Deliveries that nobody has opened for days; of a child without an account, its guardian."""
    now = timezone.now()
    late = Delivery.objects.standing().filter(
        thread__squad__in=squads,
        seen_at=None,
        sent_at__lte=now - UNOPENED_AFTER,
        sent_at__gte=now - FORGOTTEN_AFTER,
    )
    by_family = Q(player__user=None, opened_by_guardian_at__isnull=False)
    return late.exclude(by_family).select_related("player", "comment__skill").order_by("sent_at")


def _invitations(user: Any) -> QuerySet[Invitation]:
    """Invitations for people of the coach's squads that nobody has accepted."""
    rows = Invitation.objects.visible_to(user).filter(
        accepted_at=None,
        revoked_at=None,
        kind__in=[Invitation.Kind.PLAYER, Invitation.Kind.GUARDIAN],
    )
    return rows.select_related("player", "squad").order_by("created_at")

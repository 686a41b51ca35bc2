"""Which comments and deliveries somebody reads, and with what beside them."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import (
    Case,
    Count,
    Exists,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
    prefetch_related_objects,
)
from django.shortcuts import get_object_or_404

from devplans.catalogue.models import Skill
from devplans.core import audit
from devplans.feedback import roster
from devplans.feedback.models import Clip, Comment, Delivery
from devplans.feedback.naming import folded
from devplans.film.models import Film
from devplans.people.access import STAFF, Role
from devplans.people.models import Club, Player, Squad

MOST_SAID = 3


def skill_by_slug(club: Club, slug: str) -> Skill | None:
    """The skill in use that `slug` means in `club`: its own before a shipped one."""
    own_first = Case(When(club=None, then=1), default=0)
    return Skill.objects.for_club(club).in_use().filter(slug=slug).order_by(own_first).first()


def skills_for(club: Club, comment: Comment | None = None) -> list[Skill]:
    """The skills that may be picked in `club`; a club's own hides the shipped one of its slug."""
    found = {}
    for skill in Skill.objects.for_club(club).in_use().order_by("family", "name"):
        if skill.slug not in found or skill.club_id:
            found[skill.slug] = skill
    skills = list(found.values())
    if comment is not None and comment.skill not in skills:
        skills.append(comment.skill)
    return skills


def skill_named(club: Club, words: str) -> Skill | None:
    """The skill that may be picked in `club` by that name or slug; None for any other words."""
    wanted = folded(words)
    known = (one for one in skills_for(club) if wanted in {one.slug, folded(one.name)})
    return next(known, None)


def last_said(user: Any, player: Player, skill: Skill) -> list[Comment]:
    """The last three comments that `player` was sent on `skill`, by any coach of his squads whom
    `user` coaches with; none that was taken back."""
    squads = Squad.objects.for_role(user, Role.COACH)
    rows = Comment.objects.sent().filter(
        film__squad__in=squads, deliveries__player=player, skill=skill, withdrawn_at=None
    )
    return list(rows.select_related("author").order_by("-sent_at", "-pk")[:MOST_SAID])


def newest_clip_of(comment: str, field: str) -> Subquery:
    """`field` of the newest clip of the comment that the path `comment` leads to."""
    clips = Clip.objects.filter(comment=OuterRef(comment)).order_by("-version")
    return Subquery(clips.values(field)[:1])


def with_clips(deliveries: QuerySet[Delivery]) -> QuerySet[Delivery]:
    """With `clip_state`, `has_clip` and `has_voice`: may the clip be shown, is it there, and does
    the coach's voice go with it?"""
    shown = Delivery.objects.with_film().filter(pk=OuterRef("pk"))
    state = newest_clip_of("comment_id", "state")
    return deliveries.annotate(
        clip_state=state,
        is_shown=Exists(shown),
        still_key=newest_clip_of("comment_id", "still_key"),
    ).annotate(
        has_clip=Case(
            When(is_shown=True, clip_state=Clip.State.READY, then=Value(True)),
            default=Value(False),
        ),
        has_voice=newest_clip_of("comment_id", "voiced"),
    )


def comments_for(user: Any) -> QuerySet[Comment]:
    """The comments that `user` may read, with what the API tells of them."""
    shown = with_clips(Delivery.objects.with_film()).filter(has_clip=True).order_by("pk")
    return (
        Comment.objects.visible_to(user)
        .select_related("skill", "drawing", "voice", "author")
        .select_related("film__squad__season__club", "film__event")
        .prefetch_related("players", Prefetch("deliveries", shown, to_attr="shown_deliveries"))
    )


def delivery_with_clip(comment: Comment) -> UUID | None:
    """A delivery by whose address a coach watches the comment's clip."""
    shown = getattr(comment, "shown_deliveries", ())
    return shown[0].pk if shown else None


def readable(user: Any, player: UUID | None = None, film: UUID | None = None) -> QuerySet[Any]:
    """Comments for whoever coaches or runs the squad, deliveries for a family; 404 for the rest.

    A director's or welfare officer's look is written down.
    """
    staff = Squad.objects.for_role(user, *STAFF)
    comments = comments_for(user).filter(withdrawn_at=None)
    deliveries = with_clips(Delivery.objects.for_family_of(user).standing().told())
    reads_comments = True
    if player is not None:
        get_object_or_404(Player.objects.visible_to(user), pk=player)
        comments = comments.filter(players=player)
        deliveries = deliveries.filter(player=player)
        reads_comments = Player.objects.for_role(user, *STAFF).filter(pk=player).exists()
    if film is not None:
        comments = comments.filter(film=film)
        deliveries = deliveries.filter(comment__film=film)
        reads_comments = reads_comments and Film.objects.filter(pk=film, squad__in=staff).exists()
        if not reads_comments and not deliveries.exists():
            get_object_or_404(Film.objects.visible_to(user), pk=film)
    if not reads_comments:
        return deliveries
    _note_reading(user, player, film)
    return comments


def _note_reading(user: Any, player: UUID | None, film: UUID | None) -> None:
    row: Player | Film
    if player is not None:
        row = Player.objects.get(pk=player)
        club_id = row.club_id
        coaches = Player.objects.for_role(user, Role.COACH).filter(pk=player).exists()
    else:
        row = Film.objects.select_related("squad__season").get(pk=film)
        club_id = row.squad.season.club_id
        coaches = Squad.objects.for_role(user, Role.COACH).filter(pk=row.squad_id).exists()
    if not coaches:
        audit.record(user, "feedback.comments_read", row, club_id=club_id, player_id=player)


def newest_clip(comment: Comment) -> Clip | None:
    """The clip of the newest version that has one of its own."""
    return comment.clips.order_by("-version").first()


def current_clips(comments: list[Comment]) -> dict[UUID, Clip]:
    """The newest clip of each comment, by comment."""
    rows = Clip.objects.filter(comment__in=comments).order_by("version")
    return {clip.comment_id: clip for clip in rows}


def with_talk(deliveries: QuerySet[Delivery]) -> QuerySet[Delivery]:
    """With `reply_count` and `open_questions` of their threads."""
    replies = Count("thread__replies", distinct=True)
    still_open = Q(thread__replies__is_question=True, thread__replies__answered_at=None)
    questions = Count("thread__replies", filter=still_open, distinct=True)
    return deliveries.annotate(reply_count=replies, open_questions=questions)


@dataclass
class Line:
    """One player of a comment, as the coach's list shows him."""

    player: Player
    number: str
    delivery: Delivery | None


def with_lines(film: Film, comments: Iterable[Comment]) -> list[Comment]:
    """The comments, each with `lines`, its players by number, and `clip_state`."""
    found = list(comments)
    prefetch_related_objects(found, "deliveries")
    clips = current_clips(found)
    entries = {entry.player.pk: entry for entry in roster.roster(film)}
    for comment in found:
        clip = clips.get(comment.pk)
        got = {delivery.player_id: delivery for delivery in comment.deliveries.all()}
        players = sorted(
            (entries.get(player.pk) or roster.Entry(player) for player in comment.players.all()),
            key=roster.by_number,
        )
        comment.clip_state = clip.state if clip else ""  # type: ignore[attr-defined]
        comment.clip_voiced = bool(clip and clip.voiced)  # type: ignore[attr-defined]
        comment.lines = [  # type: ignore[attr-defined]
            Line(entry.player, entry.number, got.get(entry.player.pk)) for entry in players
        ]
    return found

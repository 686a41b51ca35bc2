"""The mails of feedback. None says more than that something is there, and none names another
family's child: a mail cannot be taken back."""

from collections import defaultdict
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from devplans.core.mail import queue_message
from devplans.feedback.models import Delivery
from devplans.feedback.quiet import first_allowed
from devplans.feedback.standing import Standing
from devplans.people import lookups
from devplans.people.models import Club, Player, User
from devplans.threads.members import coach_name, members_of
from devplans.threads.models import Reply


def not_before(player: Player, club: Club, now: datetime | None = None) -> datetime:
    """When a notice may reach `player` himself: now, or after the quiet hours of a minor."""
    now = now or timezone.now()
    if not player.is_minor():
        return now
    return first_allowed(
        now, zone=club.zone, from_hour=club.quiet_from_hour, until_hour=club.quiet_until_hour
    )


def link(route: str, *arguments: Any) -> str:
    return settings.PUBLIC_URL + reverse(route, args=arguments)


def _queue(template: str, words: dict[str, Any], **message: Any) -> None:
    subject, text, html = (
        render_to_string(f"feedback/email/{template}.{kind}", words)
        for kind in ("subject.txt", "txt", "html")
    )
    queue_message(subject=subject.strip(), text=text, html=html, **message)


def queue_notices(
    sending: UUID,
    deliveries: list[Delivery],
    *,
    club: Club,
    author: Any,
    standings: dict[UUID, Standing],
) -> None:
    """One notice per person for one sending: to each player with an account, to each guardian.

    Where there is no guardian, the second adult of a minor gets what a guardian would.
    """
    counts: dict[UUID, int] = defaultdict(int)
    for one in deliveries:
        counts[one.player_id] += 1
    children: dict[User, list[tuple[Player, int]]] = defaultdict(list)
    for player_id, count in counts.items():
        standing = standings[player_id]
        for adult in [row.user for row in standing.guardianships] or standing.second_adults:
            children[adult].append((standing.player, count))
    for player_id, count in counts.items():
        player = standings[player_id].player
        # A guardian who plays himself gets one mail that tells both.
        if player.user in children:
            children[player.user].append((player, count))
        else:
            _notice_to_player(sending, player, count, club=club, author=author)
    for adult, theirs in children.items():
        _notice_to_guardian(sending, adult, theirs, club=club, author=author)


def _notice_to_guardian(
    sending: UUID, adult: User, children: list[tuple[Player, int]], *, club: Club, author: Any
) -> None:
    words = {
        "reader": adult,
        "coach": coach_name(author),
        "club": club,
        "children": children,
        "link": link("home:home"),
    }
    _queue(
        "notice_guardian",
        words,
        key=f"notice:{sending}:{adult.pk}",
        kind="notice",
        address=adult.email,
        recipient=adult,
        club_id=club.pk,
        player_id=children[0][0].pk if len(children) == 1 else None,
    )


def _notice_to_player(
    sending: UUID, player: Player, count: int, *, club: Club, author: Any
) -> None:
    user = player.user
    if user is None or not user.email or not user.is_active:
        return
    if not lookups.wants_mail(user, "notice"):
        return
    words = {
        "player": player,
        "coach": coach_name(author),
        "club": club,
        "count": count,
        "link": link("home:today"),
    }
    _queue(
        "notice_player",
        words,
        key=f"notice:{sending}:{user.pk}",
        kind="notice",
        address=user.email,
        recipient=user,
        club_id=club.pk,
        player_id=player.pk,
        not_before=not_before(player, club),
    )


def queue_question(delivery: Delivery, reply: Reply) -> None:
    """Tell author and sender, where they still coach the squad, else all its coaches."""
    coaches = lookups.coaches_of(delivery.thread.squad)
    behind = {delivery.comment.author_id, delivery.comment.sender_id}
    author = [coach for coach in coaches if coach.pk in behind]
    for coach in author or coaches:
        _about_thread(delivery, reply, coach, template="question", kind="question")


def queue_reply(delivery: Delivery, reply: Reply) -> None:
    """Tell everybody on the thread but the writer."""
    members = members_of(delivery.thread)
    people: dict[UUID, User] = {}
    player_user = members.player.user
    for person in [
        *([player_user] if player_user and player_user.is_active else []),
        *members.guardians,
        *members.second_adults,
        *members.coaches,
    ]:
        people.setdefault(person.pk, person)
    people.pop(reply.author_id, None)
    for person in people.values():
        _about_thread(delivery, reply, person, template="reply", kind="reply")


def _about_thread(
    delivery: Delivery, reply: Reply, reader: User, *, template: str, kind: str
) -> None:
    player, club = delivery.player, delivery.thread.club
    is_player = reader.pk == player.user_id
    words = {
        "reader": reader,
        "writer": reply.author.full_name if reply.author else "",
        "player": player,
        "is_player": is_player,
        "club": club,
        "link": link("feedback:delivery", delivery.pk),
    }
    _queue(
        template,
        words,
        key=f"{kind}:{reply.pk}:{reader.pk}",
        kind=kind,
        address=reader.email,
        recipient=reader,
        club_id=club.pk,
        player_id=player.pk,
        not_before=not_before(player, club) if is_player else None,
    )

"""One delivery as a page shows it: clip, words, drills, the talk about it, and who is on it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.catalogue.models import Drill
from devplans.feedback import reading
from devplans.feedback.models import Clip, Delivery
from devplans.feedback.voices import keeping
from devplans.people import access
from devplans.people.access import Action
from devplans.threads.members import Members, coach_name, members_of
from devplans.threads.models import Reply

MOST_DRILLS = 3
STAYS_NEW = timedelta(days=14)


@dataclass
class Shown:
    """A delivery with everything around it, for one reader."""

    delivery: Delivery
    reader: Any
    members: Members
    drills: list[Drill] = field(default_factory=list)
    talk: list[Reply] = field(default_factory=list)
    may_answer: bool = False
    may_coach: bool = False

    @property
    def is_own(self) -> bool:
        """Is the reader the player himself?"""
        return self.delivery.player.user_id == self.reader.pk

    @property
    def may_say_understood(self) -> bool:
        return self.may_answer and self.delivery.player.user_id in {None, self.reader.pk}

    @property
    def is_changed(self) -> bool:
        """Has it changed since the player saw it; for others, since it was sent?"""
        seen = self.delivery.seen_version if self.is_own else 1
        return seen is not None and self.delivery.version > seen

    @property
    def is_noted(self) -> bool:
        """Is the reader's opening of this version written down already?"""
        if self.is_own:
            return self.delivery.seen_version == self.delivery.version
        return self.delivery.opened_by_guardian_at is not None

    @property
    def everybody(self) -> list[str]:
        """Who is on the thread, with the reader."""
        on_it = self.may_answer or self.may_coach
        return [*([_("You")] if on_it else []), *self.others]

    @property
    def clip(self) -> str:
        """ready, waiting, failed; closed where it may not be shown."""
        if not self.delivery.is_shown:
            return "closed"
        return self.delivery.clip_state or Clip.State.WAITING

    @property
    def has_voice(self) -> bool:
        """Does the clip that is shown speak with the coach's voice?"""
        return bool(self.clip == Clip.State.READY and self.delivery.has_voice)

    @property
    def lost_voice(self) -> bool:
        """Was it cut without the voice that should go along?"""
        voice = keeping.voice_of(self.delivery.comment)
        return self.clip == Clip.State.READY and voice is not None and not self.has_voice

    @property
    def has_captions(self) -> bool:
        voice = keeping.voice_of(self.delivery.comment)
        return bool(self.has_voice and voice is not None and voice.cues)

    @property
    def has_still(self) -> bool:
        return bool(self.delivery.is_shown and self.delivery.still_key)

    @property
    def others(self) -> list[str]:
        """Who else reads what the reader writes here, as he calls them."""
        members, found = self.members, []
        for coach in members.coaches:
            if coach.pk != self.reader.pk:
                found.append(coach_name(coach))
        if not self.is_own:
            found.insert(0, members.player.first_name)
        for row in members.guardianships:
            if row.user_id != self.reader.pk:
                found.append(self._guardian_words(row))
        for adult in members.second_adults:
            if adult.pk != self.reader.pk:
                found.append(_("%(name)s for the club") % {"name": adult.full_name})
        return found

    def _guardian_words(self, row: Any) -> str:
        if self.is_own:
            who = row.relationship.lower() or _("guardian %(name)s") % {"name": row.user.first_name}
            return _("your %(who)s") % {"who": who}
        return f"{row.user.full_name} ({row.relationship})" if row.relationship else str(row.user)


def shown_to(user: Any, delivery: Delivery) -> Shown:
    """`delivery` as `user` reads it. It comes from `reading.with_clips`."""
    thread = delivery.thread
    skill, player = delivery.comment.skill, delivery.player
    drills = Drill.objects.for_club(player.club).in_use().filter(skill=skill)
    return Shown(
        delivery,
        user,
        members_of(thread),
        drills=list(drills.order_by("players_needed", "minutes", "name")[:MOST_DRILLS]),
        talk=list(thread.replies.select_related("author").order_by("created_at")),
        may_answer=access.allows(user, Action.ANSWER, player),
        may_coach=access.allows(user, Action.COACH_SQUAD, thread.squad),
    )


def for_today(user: Any) -> list[Delivery]:
    """What *Today* steps through for a player: everything unopened, and the last two weeks'.

    The latest sending first, within it in the film's order, whatever has been seen meanwhile.
    """
    lately = timezone.now() - STAYS_NEW
    mine = Delivery.objects.to_player(user)
    found = mine.filter(Q(seen_at=None, withdrawn_at=None) | Q(sent_at__gte=lately))
    found = found.filter(Q(withdrawn_at=None) | Q(seen_at__isnull=False))
    return list(reading.with_clips(found.told()).order_by("-sent_at", "comment__start_ms", "pk"))


def chosen(deliveries: list[Delivery], asked: str) -> int:
    """The place of the delivery that `asked` names, by key or by number from 1; else of the first
    unseen one. Raises LookupError where a key or number is not among them."""
    if not asked:
        unseen = (place for place, one in enumerate(deliveries) if one.seen_at is None)
        return next(unseen, 0)
    for place, one in enumerate(deliveries, start=1):
        if asked in {str(one.pk), str(place)}:
            return place - 1
    raise LookupError(asked)


def unseen(deliveries: Iterable[Delivery]) -> int:
    """How many of them the player has not opened."""
    return sum(one.seen_at is None and one.withdrawn_at is None for one in deliveries)

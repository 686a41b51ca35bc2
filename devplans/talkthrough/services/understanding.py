"""From the words of a talk to suggestions."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.feedback import reading
from devplans.feedback.models import Comment
from devplans.feedback.rules import LONGEST_WORDS
from devplans.people import access
from devplans.people.access import Action
from devplans.talkthrough import roster
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.spoken import Spoken, of
from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import Cue, Heard, Suggested, Understood

MOST_OFFERED = 3
# So much of a new suggestion may already be one that the coach has in hand.
SHARED = 0.5
OUTSIDE = "outside"


def require_own(*, actor: Any, talk: TalkThrough) -> None:
    """Raise PermissionDenied unless `actor` coaches the squad and it is his talk."""
    access.require(actor, Action.COACH_SQUAD, talk.film.squad)
    if talk.coach_id != actor.pk:
        raise PermissionDenied("only its coach corrects a talk-through")


def understood(talk: TalkThrough, cues: Sequence[Cue]) -> Understood:
    """What `cues`, in spoken time, mean for the squad of the talk's film."""
    film = talk.film
    words = roster.lexicon(film.squad.season.club)
    return understand(cues, roster.of_film(film), lexicon=words)


def suggest(*, talk: TalkThrough) -> int:
    """Turn the written lines of `talk` into suggestions; how many there are now.

    What a coach has accepted, dropped or changed stays as it is; only open suggestions that nobody
    touched are made anew. Safe to run twice, also at the same time.
    """
    talk = TalkThrough.objects.with_film().get(pk=talk.pk)
    spoken = of(talk)
    found = understood(talk, spoken.cues())
    with transaction.atomic():
        locked = TalkThrough.objects.select_for_update(of=("self",)).get(pk=talk.pk)
        mine = Suggestion.objects.of_talk(talk)
        mine.untouched().delete()
        kept = [_spoken_span(spoken, one) for one in mine]
        writer = Writer(talk, spoken)
        outside = []
        for one in found.suggestions:
            if _is_taken(one.start_ms, one.end_ms, kept):
                continue
            if writer.is_outside(one):
                outside.append(_left(spoken, one.start_ms, one.said, OUTSIDE))
            else:
                writer.write(one)
        left = [
            _left(spoken, one.start_ms, one.said, one.why)
            for one in found.left_out
            if not _is_taken(one.start_ms, one.start_ms + 1, kept)
        ]
        locked.left_out = sorted(left + outside, key=lambda one: one["spoken_ms"])
        locked.understood_at = timezone.now()
        fields = ["left_out", "understood_at", "updated_at"]
        if locked.finished_at is not None and mine.open().exists():
            locked.finished_at = None
            fields.append("finished_at")
        locked.save(update_fields=fields)
        return mine.shown().count()


def read_again(*, actor: Any, talk: TalkThrough) -> int:
    """Understand the talk once more, with what was learned meanwhile; how many suggestions there
    are. Raises PermissionDenied, and DomainError "talk.not_ready"."""
    require_own(actor=actor, talk=talk)
    if talk.state != TalkThrough.State.READY:
        raise DomainError("talk.not_ready", "")
    return suggest(talk=talk)


def _spoken_span(spoken: Spoken, one: Suggestion) -> tuple[int, int]:
    part = spoken.part_of(one.take_id)
    base = part.base_ms if part else 0
    return base + one.sound_start_ms, base + max(one.sound_end_ms, one.sound_start_ms + 1)


def _is_taken(start_ms: int, end_ms: int, kept: Iterable[tuple[int, int]]) -> bool:
    length = max(1, end_ms - start_ms)
    shared = (min(end_ms, last) - max(start_ms, first) for first, last in kept)
    return any(ms >= SHARED * length for ms in shared)


def _left(spoken: Spoken, start_ms: int, said: str, why: str) -> dict[str, Any]:
    span = spoken.film_span(start_ms, start_ms)
    return {
        "id": uuid4().hex,
        "start_ms": max(0, span.start_ms),
        "spoken_ms": start_ms,
        "said": said,
        "why": why,
    }


class Writer:
    """Writes what was understood as rows of one talk."""

    def __init__(self, talk: TalkThrough, spoken: Spoken) -> None:
        self.talk, self.spoken = talk, spoken
        club = talk.film.squad.season.club
        self.skills = {one.slug: one for one in reading.skills_for(club)}
        self.players = {
            str(entry.player.pk): entry.player for entry in roster.comments_roster.roster(talk.film)
        }

    def is_outside(self, one: Suggested) -> bool:
        """Is the film over before it, or not begun?"""
        span = self.spoken.film_span(one.start_ms, one.end_ms)
        longest = self.talk.film.duration_ms
        return (longest is not None and span.start_ms >= longest) or (
            span.start_ms < 0 and span.end_ms is None
        )

    def write(self, one: Suggested, **more: Any) -> Suggestion:
        made = Suggestion.objects.create(talk=self.talk, **self.fields(one), **more)
        made.players.set([self.players[key] for key in one.players if key in self.players])
        return made

    def fields(self, one: Suggested) -> dict[str, Any]:
        """The columns of what was understood; players apart."""
        slugs = [slug for slug in one.skills if slug in self.skills]
        maybe = [slug for slug in (*slugs[1:], *one.maybe_skills) if slug in self.skills]
        return {
            "skill": self.skills[slugs[0]] if slugs else None,
            "maybe_skills": list(dict.fromkeys(maybe))[:MOST_OFFERED],
            "unsure": [key for key in one.unsure if key in self.players][:MOST_OFFERED],
            "verdict": one.verdict if one.verdict in Comment.Verdict.values else "note",
            "happened": shortened(one.happened),
            "do_instead": shortened(one.do_instead),
            "said": one.said,
            "heard": [self.heard(words) for words in one.heard],
            **self.times(one.start_ms, one.end_ms),
        }

    def heard(self, words: Heard) -> dict[str, Any]:
        keys = [key for key in words.keys if key in self.players]
        if words.sure:
            keys = keys[:1]
        return {"text": words.text, "players": keys, "sure": words.sure}

    def times(self, start_ms: int, end_ms: int) -> dict[str, Any]:
        """Place, take, and times of sound and film of a stretch of spoken time."""
        part = self.spoken.part_at(start_ms)
        span = self.spoken.film_span(start_ms, end_ms)
        return {
            "place": start_ms,
            "take": part.take,
            "start_ms": max(0, span.start_ms),
            "end_ms": span.end_ms,
            "sound_start_ms": max(0, start_ms - part.base_ms),
            "sound_end_ms": max(0, end_ms - part.base_ms),
        }


def shortened(words: str) -> str:
    """So much as a comment holds, whole words."""
    words = words.strip()
    if len(words) <= LONGEST_WORDS:
        return words
    return words[: LONGEST_WORDS - 2].rsplit(" ", 1)[0] + " …"


def players_by_key(talk: TalkThrough) -> dict[UUID, Any]:
    return {entry.player.pk: entry.player for entry in roster.comments_roster.roster(talk.film)}


def skills_by_slug(talk: TalkThrough) -> dict[str, Skill]:
    return {one.slug: one for one in reading.skills_for(talk.film.squad.season.club)}

"""What was understood, as rows of a talk."""

from collections.abc import Sequence
from typing import Any

from devplans.catalogue.models import Skill
from devplans.feedback import reading
from devplans.feedback import roster as comments_roster
from devplans.feedback.models import Comment
from devplans.feedback.rules import LONGEST_WORDS
from devplans.talkthrough import roster
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.spoken import Spoken
from devplans.talkthrough.understand import understand, understand_as_one
from devplans.talkthrough.understand.openers import without_opener
from devplans.talkthrough.understand.parts import Cue, Heard, Suggested, Understood

MOST_OFFERED = 3
OUTSIDE = "outside"


def understood(talk: TalkThrough, cues: Sequence[Cue]) -> Understood:
    """What `cues`, in spoken time, mean for the squad of the talk's film."""
    film = talk.film
    words = roster.lexicon(film.squad.season.club)
    return understand(cues, roster.of_film(film), lexicon=words)


def understood_as_one(talk: TalkThrough, cues: Sequence[Cue]) -> Suggested:
    """What `cues`, in spoken time and with a word in them, mean where they are one suggestion."""
    film = talk.film
    words = roster.lexicon(film.squad.season.club)
    return understand_as_one(cues, roster.of_film(film), lexicon=words)


class Writer:
    """Writes what was understood as rows of one talk."""

    def __init__(self, talk: TalkThrough, spoken: Spoken) -> None:
        self.talk, self.spoken = talk, spoken
        self.skills = skills_by_slug(talk)
        self.players = {
            str(entry.player.pk): entry.player for entry in comments_roster.roster(talk.film)
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
            "do_instead": shortened(without_opener(one.do_instead)),
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


def skills_by_slug(talk: TalkThrough) -> dict[str, Skill]:
    return {one.slug: one for one in reading.skills_for(talk.film.squad.season.club)}

"""What a comment must be, whoever writes it: draft or correction."""

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.feedback import roster
from devplans.feedback.models import Comment
from devplans.film.models import Film
from devplans.people.models import Player

LONGEST_WORDS = 1_000


# No film is longer than a day.
LONGEST_MS = 24 * 3600 * 1000


def check_span(film: Film, start_ms: int, end_ms: int | None) -> None:
    """Raise DomainError unless the moment or span lies in the film.

    While a film is on its way nobody knows its length, and whoever has its file comments already.
    """
    if film.state == Film.State.FAILED:
        message = _("This film could not be read: there is nothing to comment on.")
        raise DomainError("film.failed", message, field="film")
    longest = LONGEST_MS if film.duration_ms is None else film.duration_ms
    if not 0 <= start_ms <= longest:
        raise DomainError("start_ms.range", _("That moment is not in the film."), field="start_ms")
    if end_ms is None:
        return
    if end_ms <= start_ms:
        raise DomainError("end_ms.order", _("The end has to be after the start."), field="end_ms")
    if end_ms > longest:
        raise DomainError("end_ms.range", _("The film ends before that."), field="end_ms")


def check_words(happened: str, do_instead: str) -> None:
    """Raise DomainError for words that are too long."""
    for name, words in (("happened", happened), ("do_instead", do_instead)):
        if len(words) > LONGEST_WORDS:
            raise DomainError("words.long", _("Keep it under 1,000 characters."), field=name)


def check_skill(film: Film, skill: Skill, kept: Skill | None = None) -> None:
    """Raise DomainError unless the skill is in use in the film's club; `kept` stays allowed."""
    if skill == kept:
        return
    if skill.retired_at is not None or skill.club_id not in {None, film.squad.season.club_id}:
        raise DomainError("skill.unknown", _("Pick a skill from the catalogue."), field="skill")


def check_players(film: Film, players: Sequence[Player], kept: set[UUID] | None = None) -> None:
    """Raise DomainError unless all are in the film's squad; those of `kept` stay allowed."""
    if not players:
        raise DomainError("players.none", _("Name at least one player."), field="players")
    known = {entry.player.pk for entry in roster.roster(film)} | (kept or set())
    strangers = [player.full_name for player in players if player.pk not in known]
    if strangers:
        message = _("Not in the squad of this film: %(names)s.") % {"names": ", ".join(strangers)}
        raise DomainError("players.squad", message, field="players")


def check_sendable_film(comment: Comment) -> None:
    """Raise DomainError unless the film is there, and the comment's moment in it."""
    if not comment.film.is_ready:
        message = _("The film is still on its way. Send this when it is ready.")
        raise DomainError("film.not_ready", message, field="film")
    check_span(comment.film, comment.start_ms, comment.end_ms)


def check_sendable_words(comment: Comment) -> None:
    """Raise DomainError for a "not yet" without its answer."""
    if comment.lacks_answer:
        message = _("A “not yet” needs a “Next time”: what should the player do instead?")
        raise DomainError("do_instead.missing", message, field="do_instead")

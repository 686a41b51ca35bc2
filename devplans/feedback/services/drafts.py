from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.feedback import drawing as drawings
from devplans.feedback import naming, roster, rules
from devplans.feedback.models import Comment, Phrase
from devplans.feedback.voices import keeping
from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player

MOST_PHRASES = 40
FIELDS = ("skill", "verdict", "start_ms", "end_ms", "happened", "do_instead")


def _on(comment: Comment) -> set[UUID]:
    return set(comment.players.values_list("pk", flat=True))


def require_open_draft(*, actor: Any, comment: Comment) -> None:
    """Raise PermissionDenied, or DomainError "comment.sent", unless `actor` may change it."""
    access.require(actor, Action.COACH_SQUAD, comment.film.squad)
    if not comment.is_open_to(actor):
        raise PermissionDenied("only its author changes a draft that is not handed over")
    if comment.sent_at is not None:
        message = _("This comment has been sent: correct it or take it back instead.")
        raise DomainError("comment.sent", message)


@transaction.atomic
def add_comment(
    *,
    actor: Any,
    film: Film,
    start_ms: int,
    players: Sequence[Player],
    skill: Skill,
    verdict: str,
    end_ms: int | None = None,
    happened: str = "",
    do_instead: str = "",
    drawing: Any = (),
) -> Comment:
    """Write a draft, seen by its author only.

    start_ms, end_ms: from the first frame; end_ms None is a single moment. players: at least one,
    of the film's squad on the film's day or today. drawing: shapes, see drawings.shapes.
    Raises PermissionDenied and DomainError.
    """
    access.require(actor, Action.COACH_SQUAD, film.squad)
    rules.check_span(film, start_ms, end_ms)
    rules.check_words(happened, do_instead)
    rules.check_skill(film, skill)
    rules.check_players(film, players)
    shapes = drawings.checked(drawing or [])
    comment = Comment.objects.create(
        film=film,
        author=actor,
        skill=skill,
        verdict=verdict,
        start_ms=start_ms,
        end_ms=end_ms,
        happened=happened.strip(),
        do_instead=do_instead.strip(),
    )
    comment.players.set(players)
    drawings.keep(comment, shapes)
    audit.record(actor, "feedback.comment_added", comment, club_id=film.squad.season.club_id)
    return comment


@transaction.atomic
def edit_comment(
    *,
    actor: Any,
    comment: Comment,
    players: Sequence[Player] | None = None,
    drawing: Any = None,
    **fields: Any,
) -> Comment:
    """Change a draft. fields: any of FIELDS; drawing: shapes, None leaves it as it is.

    Raises PermissionDenied and DomainError.
    """
    require_open_draft(actor=actor, comment=comment)
    kept_skill = comment.skill
    for name in FIELDS:
        if name in fields:
            value = fields[name]
            setattr(comment, name, value.strip() if name in {"happened", "do_instead"} else value)
    rules.check_span(comment.film, comment.start_ms, comment.end_ms)
    rules.check_words(comment.happened, comment.do_instead)
    rules.check_skill(comment.film, comment.skill, kept=kept_skill)
    shapes = None if drawing is None else drawings.checked(drawing)
    if players is not None:
        rules.check_players(comment.film, players, _on(comment))
        comment.players.set(players)
    comment.save(update_fields=[*FIELDS, "updated_at"])
    if shapes is not None:
        drawings.keep(comment, shapes)
    if comment.author_id != actor.pk:
        club_id = comment.film.squad.season.club_id
        audit.record(actor, "feedback.draft_of_another_edited", comment, club_id=club_id)
    return comment


@transaction.atomic
def delete_draft(*, actor: Any, comment: Comment) -> None:
    """Throw a draft away. Raises PermissionDenied, and DomainError "comment.sent"."""
    require_open_draft(actor=actor, comment=comment)
    if comment.author_id != actor.pk:
        raise PermissionDenied("only its author throws a draft away")
    audit.record(
        actor, "feedback.draft_deleted", comment, club_id=comment.film.squad.season.club_id
    )
    comment.delete()


@transaction.atomic
def hold_back(*, actor: Any, comment: Comment, players: Sequence[Player]) -> Comment:
    """Split `players` off a draft into a draft of their own, which waits; that draft.

    With all its players held back, the draft itself waits and nothing is written.
    """
    require_open_draft(actor=actor, comment=comment)
    on_it = _on(comment)
    held = [player for player in players if player.pk in on_it]
    if not held or len(held) == len(on_it):
        return comment
    waiting = Comment.objects.create(
        film=comment.film,
        author=comment.author,
        handed_over_at=comment.handed_over_at,
        **{name: getattr(comment, name) for name in FIELDS},
    )
    waiting.players.set(held)
    drawings.keep(waiting, drawings.shapes_of(comment))
    keeping.copy(comment, waiting)
    comment.players.remove(*held)
    audit.record(actor, "feedback.held_back", waiting, club_id=comment.film.squad.season.club_id)
    return waiting


@transaction.atomic
def write_team_mate(*, actor: Any, comment: Comment) -> Comment:
    """Write "a team-mate" for every other roster player that a draft's words name."""
    require_open_draft(actor=actor, comment=comment)
    addressed = _on(comment)
    others = roster.named_except(roster.roster(comment.film), *addressed)
    comment.happened = naming.mask(comment.happened, others, careful=True)
    comment.do_instead = naming.mask(comment.do_instead, others, careful=True)
    comment.save(update_fields=["happened", "do_instead", "updated_at"])
    drawings.keep(comment, drawings.masked(drawings.shapes_of(comment), others, careful=True))
    return comment


@transaction.atomic
def keep_phrase(*, actor: Any, text: str, skill: Skill | None = None) -> Phrase:
    """Keep words for later use by this coach; the same words are kept once."""
    text = " ".join(text.split())
    if not text:
        raise DomainError("phrase.empty", _("There are no words to keep."), field="do_instead")
    if len(text) > 200:
        raise DomainError("phrase.long", _("Keep it under 200 characters."), field="do_instead")
    mine = Phrase.objects.filter(coach=actor)
    found = mine.filter(skill=skill, text=text).first()
    if found is not None:
        return found
    if mine.count() >= MOST_PHRASES:
        message = _("You keep 40 phrases already: drop one first.")
        raise DomainError("phrase.many", message, field="do_instead")
    return Phrase.objects.create(coach=actor, skill=skill, text=text)


@transaction.atomic
def drop_phrase(*, actor: Any, phrase: Phrase) -> None:
    """Forget a phrase. Raises PermissionDenied for somebody else's."""
    if phrase.coach_id != actor.pk:
        raise PermissionDenied("only its coach drops a phrase")
    phrase.delete()

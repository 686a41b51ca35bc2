"""Correcting suggestions one by one. Nothing is sent: an accepted one becomes a draft comment."""

from collections.abc import Collection, Sequence
from contextlib import AbstractContextManager, ExitStack, nullcontext
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.core.errors import DomainError
from devplans.feedback import rules
from devplans.feedback import services as feedback
from devplans.feedback.models import Comment
from devplans.feedback.voices.services import keep_sound
from devplans.feedback.voices.stretch import Sound, drop_sound
from devplans.people.models import Player
from devplans.talkthrough import roster, sounding, voicing
from devplans.talkthrough.lessons import Ask, guess, plain
from devplans.talkthrough.lessons import lessons as lessons_in
from devplans.talkthrough.models import Alias, Suggestion, TalkThrough
from devplans.talkthrough.owned import require_own
from devplans.talkthrough.services import aliases
from devplans.talkthrough.services.steps import Record, undo
from devplans.talkthrough.services.understanding import suggest
from devplans.talkthrough.settling import is_certain, settle, touch
from devplans.talkthrough.writer import MOST_OFFERED, skills_by_slug

__all__ = ["Outcome", "suggest", "undo"]
States = Suggestion.State


@dataclass
class Outcome:
    """What a step did. rows: those that changed; gone: ids that are no more; taught: spellings that
    were learned; asks: those that the coach has to say yes to."""

    rows: list[Suggestion] = field(default_factory=list)
    gone: list[UUID] = field(default_factory=list)
    taught: list[Alias] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    refused: int = 0


def require_open(*, actor: Any, suggestion: Suggestion) -> None:
    """Raise PermissionDenied, or DomainError "suggestion.done"."""
    require_own(actor=actor, talk=suggestion.talk)
    if suggestion.state != States.OPEN:
        message = _("This one is done with: undo that, or open it again first.")
        raise DomainError("suggestion.done", message)


def accept(*, actor: Any, suggestion: Suggestion, silent: bool = False) -> Outcome:
    """Make a draft of it, which joins *check and send*.

    A "not yet" without "next time" is taken too; it cannot be sent so. silent: without the coach's
    voice, whatever was chosen before.
    Raises PermissionDenied, and DomainError "suggestion.done", "suggestion.changed",
    "skill.missing", "voice..." or what a comment must be; nothing has changed then.
    """
    require_open(actor=actor, suggestion=suggestion)
    _require_skill(suggestion)
    rules.check_players(suggestion.talk.film, list(suggestion.players.all()))
    # No lock is held while the sound is cut.
    cut: AbstractContextManager[Sound | None] = nullcontext() if silent else voicing.cut(suggestion)
    with cut as sound, transaction.atomic():
        record = Record(suggestion.talk, "accept")
        _accept(actor, suggestion, record, sound)
        record.keep()
    return Outcome([suggestion])


def _require_skill(suggestion: Suggestion) -> Skill:
    if suggestion.skill is None:
        raise DomainError("skill.missing", _("Name the skill first."), field="skill")
    return suggestion.skill


def _require_unchanged(suggestion: Suggestion) -> None:
    """Another tab may have been quicker, while the sound was cut."""
    now = Suggestion.objects.filter(pk=suggestion.pk).values_list("state", "updated_at").first()
    if now is None or now[0] != States.OPEN:
        raise DomainError("suggestion.done", _("This one is done with: undo that first."))
    if now[1] != suggestion.updated_at:
        message = _("This one was changed meanwhile: look at it again, then accept it.")
        raise DomainError("suggestion.changed", message)


def _accept(actor: Any, suggestion: Suggestion, record: Record, sound: Sound | None) -> Comment:
    _require_unchanged(suggestion)
    record.change(suggestion)
    comment = feedback.add_comment(
        actor=actor,
        film=suggestion.talk.film,
        start_ms=suggestion.start_ms,
        end_ms=suggestion.end_ms,
        players=list(suggestion.players.all()),
        skill=_require_skill(suggestion),
        verdict=suggestion.verdict,
        happened=suggestion.happened,
        do_instead=suggestion.do_instead,
    )
    if sound is not None:
        keep_sound(actor=actor, comment=comment, sound=sound)
    record.wrote(comment)
    suggestion.state, suggestion.comment = States.ACCEPTED, comment
    suggestion.with_voice = sound is not None
    touch(suggestion, "state", "comment", "with_voice")
    return comment


def accept_certain(*, actor: Any, talk: TalkThrough) -> Outcome:
    """Accept all open ones that leave nothing to ask, as one step. `refused` counts those that a
    comment's own rules refuse, or those of a voice that should go along."""
    require_own(actor=actor, talk=talk)
    done = Outcome()
    with ExitStack() as sounds:
        cut: list[tuple[Suggestion, Sound | None]] = []
        for one in Suggestion.objects.of_talk(talk).open().shown():
            if is_certain(one):
                try:
                    cut.append((one, sounds.enter_context(voicing.cut(one))))
                except DomainError:
                    done.refused += 1
        _accept_all(actor, talk, cut, done)
    return done


@transaction.atomic
def _accept_all(
    actor: Any, talk: TalkThrough, cut: Sequence[tuple[Suggestion, Sound | None]], done: Outcome
) -> None:
    record = Record(talk, "accept_certain")
    unused = []
    for one, sound in cut:
        try:
            with transaction.atomic():
                _accept(actor, one, record, sound)
        except DomainError:
            done.refused += 1
            unused += [sound] if sound else []
        else:
            done.rows.append(one)
    if not done.rows:
        raise DomainError("certain.none", _("None of those that are open is certain."))
    record.keep()
    for sound in unused:
        drop_sound(sound)


@transaction.atomic
def finish(*, actor: Any, talk: TalkThrough) -> Outcome:
    """Leave what is still open as it is: the talk is corrected to the end. Raises
    PermissionDenied."""
    require_own(actor=actor, talk=talk)
    record = Record(talk, "finish")
    record.keep()
    talk = record.talk
    talk.finished_at = timezone.now()
    talk.save(update_fields=["finished_at", "updated_at"])
    return Outcome()


@transaction.atomic
def drop(*, actor: Any, suggestion: Suggestion) -> Outcome:
    """Nothing becomes of it. Raises PermissionDenied, and DomainError "suggestion.done"."""
    require_open(actor=actor, suggestion=suggestion)
    record = Record(suggestion.talk, "drop")
    record.change(suggestion)
    suggestion.state = States.DROPPED
    touch(suggestion, "state")
    record.keep()
    return Outcome([suggestion])


@transaction.atomic
def reopen(*, actor: Any, suggestion: Suggestion) -> Outcome:
    """Take a dropped one up again. Raises PermissionDenied, and DomainError "suggestion.done"."""
    require_own(actor=actor, talk=suggestion.talk)
    if suggestion.state != States.DROPPED:
        raise DomainError("suggestion.done", _("Only a dropped one can be opened again."))
    record = Record(suggestion.talk, "reopen")
    record.change(suggestion)
    suggestion.state = States.OPEN
    touch(suggestion, "state")
    record.keep()
    return Outcome([suggestion])


@transaction.atomic
def pick_player(*, actor: Any, suggestion: Suggestion, player: Player) -> Outcome:
    """Say who was meant, of those that are offered; the squad's spellings learn from it.

    Raises PermissionDenied, and DomainError "suggestion.done" or "player.not_offered".
    """
    require_open(actor=actor, suggestion=suggestion)
    if str(player.pk) not in suggestion.unsure:
        message = _("This player is not offered here: edit the suggestion.")
        raise DomainError("player.not_offered", message)
    record = Record(suggestion.talk, "pick_player")
    record.change(suggestion)
    done = Outcome([suggestion])
    _lessons_of(actor, suggestion, record, done, added={str(player.pk)}, removed=set())
    suggestion.players.add(player)
    settle(suggestion, str(player.pk))
    touch(suggestion, "unsure", "heard")
    record.keep()
    return done


@transaction.atomic
def pick_skill(*, actor: Any, suggestion: Suggestion, slug: str) -> Outcome:
    """Say which skill it is about, of those in use; the one that stood there is offered then.

    Raises PermissionDenied, and DomainError "suggestion.done" or "skill.unknown".
    """
    require_open(actor=actor, suggestion=suggestion)
    skill = skills_by_slug(suggestion.talk).get(slug)
    if skill is None:
        raise DomainError("skill.unknown", _("Pick a skill from the catalogue."), field="skill")
    record = Record(suggestion.talk, "pick_skill")
    record.change(suggestion)
    was = [suggestion.skill.slug] if suggestion.skill else []
    offered = [one for one in [*was, *suggestion.maybe_skills] if one != slug]
    suggestion.maybe_skills = list(dict.fromkeys(offered))[:MOST_OFFERED]
    suggestion.skill = skill
    touch(suggestion, "skill", "maybe_skills")
    record.keep()
    return Outcome([suggestion])


@transaction.atomic
def judge(*, actor: Any, suggestion: Suggestion, verdict: str) -> Outcome:
    """Raises PermissionDenied, and DomainError "suggestion.done" or "verdict.unknown"."""
    require_open(actor=actor, suggestion=suggestion)
    if verdict not in Comment.Verdict.values:
        raise DomainError("verdict.unknown", _("Choose did it, not yet or note."), field="verdict")
    record = Record(suggestion.talk, "judge")
    record.change(suggestion)
    suggestion.verdict = verdict
    touch(suggestion, "verdict")
    record.keep()
    return Outcome([suggestion])


@transaction.atomic
def edit(
    *,
    actor: Any,
    suggestion: Suggestion,
    players: Sequence[Player],
    skill: Skill | None,
    verdict: str,
    happened: str,
    do_instead: str,
    start_ms: int,
    end_ms: int | None,
    session: str = "",
) -> Outcome:
    """Change what it says. Players that were put in or taken out teach the squad's spellings.

    session: edits that share one are undone together. Times in ms of the film.
    Raises PermissionDenied, and DomainError.
    """
    require_open(actor=actor, suggestion=suggestion)
    film = suggestion.talk.film
    rules.check_span(film, start_ms, end_ms)
    rules.check_words(happened, do_instead)
    if skill is not None:
        rules.check_skill(film, skill, kept=suggestion.skill)
    if players:
        rules.check_players(film, players)
    record = Record(suggestion.talk, "edit", session=session)
    record.change(suggestion)
    done = Outcome([suggestion])
    before = {str(pk) for pk in suggestion.players.values_list("pk", flat=True)}
    after = {str(player.pk) for player in players}
    _lessons_of(actor, suggestion, record, done, added=after - before, removed=before - after)
    suggestion.players.set(players)
    if after != before:
        for key in after - before:
            if key in suggestion.unsure:
                settle(suggestion, key)
        suggestion.unsure = [key for key in suggestion.unsure if key not in after]
    if skill is not None:
        suggestion.maybe_skills = [one for one in suggestion.maybe_skills if one != skill.slug]
    suggestion.skill, suggestion.verdict = skill, verdict
    suggestion.happened, suggestion.do_instead = happened.strip(), do_instead.strip()
    suggestion.start_ms, suggestion.end_ms = start_ms, end_ms
    touch(
        suggestion, "skill", "verdict", "happened", "do_instead", "start_ms", "end_ms", "unsure",
        "maybe_skills", "heard",
    )  # fmt: skip
    record.keep()
    return done


@transaction.atomic
def set_voice(*, actor: Any, suggestion: Suggestion, on: bool, agreed: bool = False) -> Outcome:
    """Let the coach's voice go along with the clip, or not.

    agreed: he has ticked that no other child is named in the sound.
    Raises PermissionDenied, and DomainError "suggestion.done", "voice.none", "voice.long",
    "voice.names" or "voice.agree".
    """
    require_open(actor=actor, suggestion=suggestion)
    if on:
        sounding.check(suggestion)
        if not agreed:
            message = _("Tick that no other child is named in what is heard.")
            raise DomainError("voice.agree", message, field="agreed")
    record = Record(suggestion.talk, "voice")
    record.change(suggestion)
    suggestion.with_voice = on
    touch(suggestion, "with_voice")
    record.keep()
    return Outcome([suggestion])


def _lessons_of(
    actor: Any,
    suggestion: Suggestion,
    record: Record,
    done: Outcome,
    *,
    added: Collection[str],
    removed: Collection[str],
) -> None:
    """Learn spellings from a change of players, and fill them in where they are still asked."""
    talk = suggestion.talk
    squad = talk.film.squad
    players = roster.of_film(talk.film)
    lessons = lessons_in(suggestion.heard, added=added, removed=removed, roster=players)
    known = Alias.objects.of_squad(squad)
    for wrong in lessons.forget:
        was = known.filter(heard=wrong.heard, player=wrong.key).first()
        if was is not None:
            record.alias(wrong.heard, was)
            was.delete()
    for lesson in lessons.teach:
        record.alias(lesson.heard, known.filter(heard=lesson.heard).first())
        aliases.set_alias(actor=actor, squad=squad, player_id=lesson.key, heard=lesson.heard)
        done.taught.append(known.select_related("player").get(heard=lesson.heard))
        _spread(suggestion, lesson, record, done)
    done.asks += lessons.asks
    told = {ask.key for ask in (*lessons.teach, *lessons.asks)}
    # Who goes although none of the words named him stood in for whoever comes.
    named = {key for entry in suggestion.heard for key in entry["players"]}
    for player in players:
        if player.key in set(added) - told and not named & set(removed):
            words = guess(suggestion.said, suggestion.heard, player)
            if words and not known.filter(heard=words).exists():
                done.asks.append(Ask(words, player.key))


def _spread(suggestion: Suggestion, lesson: Ask, record: Record, done: Outcome) -> None:
    """The same words stand in other suggestions, where nobody was sure: they are sure now."""
    others = Suggestion.objects.of_talk(suggestion.talk).untouched().exclude(pk=suggestion.pk)
    for other in others:
        entries = [
            entry
            for entry in other.heard
            if not entry["sure"] and plain(entry["text"]) == lesson.heard
        ]
        if not entries:
            continue
        record.change(other)
        for entry in entries:
            if lesson.key not in entry["players"]:
                entry["players"] = [lesson.key, *entry["players"]]
        other.players.add(lesson.key)
        settle(other, lesson.key)
        other.save(update_fields=["heard", "unsure", "updated_at"])
        done.rows.append(other)


@transaction.atomic
def answer(*, actor: Any, suggestion: Suggestion, player: Player, heard: str) -> Outcome:
    """Yes, these words mean that player: learn it. Raises PermissionDenied and DomainError."""
    require_own(actor=actor, talk=suggestion.talk)
    talk = suggestion.talk
    squad = talk.film.squad
    words = plain(heard)
    aliases.require_spelling(actor=actor, squad=squad, player=player, words=words, sure=True)
    record = Record(talk, "alias")
    record.alias(words, Alias.objects.of_squad(squad).filter(heard=words).first())
    done = Outcome([suggestion])
    done.taught.append(
        aliases.learn(actor=actor, squad=squad, player=player, heard=words, sure=True)
    )
    _spread(suggestion, Ask(words, str(player.pk)), record, done)
    record.keep()
    return done

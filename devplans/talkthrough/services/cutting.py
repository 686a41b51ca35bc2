"""Suggestions made of others: two joined, one split, one out of words that were left out."""

from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from devplans.core.errors import DomainError
from devplans.feedback.models import Comment
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.owned import require_own
from devplans.talkthrough.services.steps import Record
from devplans.talkthrough.services.suggestions import Outcome, require_open
from devplans.talkthrough.settling import touch
from devplans.talkthrough.spoken import Spoken, of
from devplans.talkthrough.understand.parts import Cue, Suggested
from devplans.talkthrough.understand.words import WORD, folded
from devplans.talkthrough.writer import (
    MOST_OFFERED,
    Writer,
    shortened,
    understood,
    understood_as_one,
)

States = Suggestion.State


def _joined(first: str, second: str) -> str:
    if not first.strip() or not second.strip():
        return (first or second).strip()
    sign = "" if first.rstrip().endswith((".", "!", "?", "…", ",", ";", ":")) else "."
    return f"{first.rstrip()}{sign} {second.strip()}"


@transaction.atomic
def merge_next(*, actor: Any, suggestion: Suggestion) -> Outcome:
    """Take the next open one into this one: players and words of both, from the beginning of the
    first to the end of the second. Raises PermissionDenied, and DomainError "suggestion.done" or
    "merge.none"."""
    require_open(actor=actor, suggestion=suggestion)
    mine = Suggestion.objects.of_talk(suggestion.talk).open()
    following = mine.filter(place__gte=suggestion.place).exclude(pk=suggestion.pk)
    other = next((one for one in following if _is_after(one, suggestion)), None)
    if other is None:
        raise DomainError("merge.none", _("There is no open suggestion after this one."))
    record = Record(suggestion.talk, "merge")
    record.change(suggestion, other)
    _join(suggestion, other)
    other.state = States.MERGED
    touch(other, "state")
    record.keep()
    return Outcome([suggestion], gone=[other.pk])


def _join(suggestion: Suggestion, other: Suggestion) -> None:
    suggestion.players.add(*other.players.all())
    keys = {str(pk) for pk in suggestion.players.values_list("pk", flat=True)}
    suggestion.unsure = _offers([*suggestion.unsure, *other.unsure], keys)
    others_skill = [other.skill.slug] if other.skill else []
    if suggestion.skill is None:
        suggestion.skill, others_skill = other.skill, []
    own = {suggestion.skill.slug} if suggestion.skill else set()
    offered = [*suggestion.maybe_skills, *others_skill, *other.maybe_skills]
    suggestion.maybe_skills = _offers(offered, own)
    if suggestion.verdict == Comment.Verdict.NOTE:
        suggestion.verdict = other.verdict
    for name in ("happened", "do_instead"):
        joined = _joined(getattr(suggestion, name), getattr(other, name))
        setattr(suggestion, name, shortened(joined))
    suggestion.said = f"{suggestion.said} {other.said}".strip()
    suggestion.heard = suggestion.heard + other.heard
    if suggestion.take_id == other.take_id:
        suggestion.sound_end_ms = max(suggestion.sound_end_ms, other.sound_end_ms)
    ends = [end for end in (suggestion.end_ms, other.end_ms, other.start_ms) if end is not None]
    suggestion.end_ms = max(ends) if max(ends) > suggestion.start_ms else None
    suggestion.with_voice = False
    touch(
        suggestion, "unsure", "skill", "maybe_skills", "verdict", "happened", "do_instead", "said",
        "heard", "sound_end_ms", "end_ms", "with_voice",
    )  # fmt: skip


def _is_after(one: Suggestion, other: Suggestion) -> bool:
    return (one.place, one.created_at) > (other.place, other.created_at)


def _offers(keys: list[str], taken: set[str]) -> list[str]:
    return [key for key in dict.fromkeys(keys) if key not in taken][:MOST_OFFERED]


@transaction.atomic
def split(*, actor: Any, suggestion: Suggestion, at: int) -> Outcome:
    """Cut it in two before word number `at` of what was said (from 1); each half is understood for
    itself. Where a half names nobody, it stays with the players of the whole; an answer that was
    never said, but written, goes along with the second half.

    Raises PermissionDenied, and DomainError "suggestion.done" or "split.place".
    """
    require_open(actor=actor, suggestion=suggestion)
    words = list(WORD.finditer(suggestion.said))
    if not 0 < at < len(words):
        message = _("Choose a word inside of what was said: there it is cut.")
        raise DomainError("split.place", message)
    record = Record(suggestion.talk, "split")
    record.change(suggestion)
    spoken = of(suggestion.talk)
    writer = Writer(suggestion.talk, spoken)
    start, middle, end = _split_times(spoken, suggestion, at, len(words))
    cut = words[at].start()
    said = (suggestion.said[:cut].strip(), suggestion.said[cut:].strip())
    first, first_keys = _half(writer, suggestion, start, middle, said[0])
    fields, keys = _half(writer, suggestion, middle, end, said[1])
    if not first["do_instead"] and not fields["do_instead"]:
        fields["do_instead"] = suggestion.do_instead
    del first["place"]
    for name, value in first.items():
        setattr(suggestion, name, value)
    suggestion.with_voice = False
    suggestion.players.set(first_keys)
    touch(suggestion, *first, "with_voice")
    second = Suggestion.objects.create(talk=suggestion.talk, **fields)
    second.players.set(keys)
    touch(second)
    record.made(second)
    record.keep()
    return Outcome([suggestion, second])


def _split_times(
    spoken: Spoken, suggestion: Suggestion, at: int, count: int
) -> tuple[int, int, int]:
    """Beginning, cut and end in spoken time; the cut is where that word was said, or its share."""
    part = spoken.part_of(suggestion.take_id)
    base = part.base_ms if part else 0
    start = base + suggestion.sound_start_ms
    end = max(base + suggestion.sound_end_ms, start + 2)
    inside = [word for word in spoken.words() if start <= word.start_ms < end]
    said = [folded(match[0]) for match in WORD.finditer(suggestion.said)]
    if [word.folded for word in inside] == said:
        middle = inside[at].start_ms
    else:
        middle = start + (end - start) * at // count
    return start, min(max(middle, start + 1), end - 1), end


def _half(
    writer: Writer, whole: Suggestion, start_ms: int, end_ms: int, said: str
) -> tuple[dict[str, Any], list[str]]:
    """Columns and players of a half of `whole`. A skill that its words do not name is only
    offered."""
    cues = [Cue(start_ms, end_ms, said)]
    found = understood(writer.talk, cues)
    is_one = len(found.suggestions) == 1 and not found.left_out
    one = found.suggestions[0] if is_one else understood_as_one(writer.talk, cues)
    fields = writer.fields(one) | writer.times(start_ms, end_ms) | {"said": said}
    keys = [key for key in one.players if key in writer.players]
    if not keys:
        keys = [str(pk) for pk in whole.players.values_list("pk", flat=True)]
        offered = fields["unsure"] or ([] if keys else whole.unsure)
        fields["unsure"] = _offers(offered, set(keys))
    if fields["skill"] is None and not fields["maybe_skills"]:
        was = [whole.skill.slug] if whole.skill else []
        fields["maybe_skills"] = _offers([*was, *whole.maybe_skills], set())
    return fields, keys


def _plain(start_ms: int, end_ms: int, said: str) -> Suggested:
    return Suggested(start_ms, end_ms, (), (), (), (), Comment.Verdict.NOTE, said, "", said)


@transaction.atomic
def take_left_out(*, actor: Any, talk: TalkThrough, key: str) -> Outcome:
    """Make a suggestion of words that were left out. Raises PermissionDenied, and DomainError
    "left_out.gone"."""
    require_own(actor=actor, talk=talk)
    record = Record(talk, "take_left_out")
    talk = record.talk
    entry = next((one for one in talk.left_out if one["id"] == key), None)
    if entry is None:
        raise DomainError("left_out.gone", _("These words have been taken already."))
    record.left_out()
    spoken = of(talk)
    start_ms = entry["spoken_ms"]
    end_ms = _end_of(spoken, start_ms, entry["said"])
    writer = Writer(talk, spoken)
    found = understood(talk, [Cue(start_ms, end_ms, entry["said"])]).suggestions
    one = found[0] if len(found) == 1 else _plain(start_ms, end_ms, entry["said"])
    fields = writer.fields(one) | writer.times(start_ms, end_ms) | {"said": entry["said"]}
    fields["happened"] = fields["happened"] or shortened(entry["said"])
    made = Suggestion.objects.create(talk=talk, **fields)
    made.players.set([key for key in one.players if key in writer.players])
    touch(made)
    record.made(made)
    talk.left_out = [one for one in talk.left_out if one["id"] != key]
    talk.save(update_fields=["left_out", "updated_at"])
    record.keep()
    return Outcome([made])


def _end_of(spoken: Spoken, start_ms: int, said: str) -> int:
    """Where words end that begin there: so many words on."""
    words = [word for word in spoken.words() if word.start_ms >= start_ms - 1]
    count = max(1, len(list(WORD.finditer(said))))
    part = spoken.part_at(start_ms)
    inside = [word for word in words[:count] if spoken.part_at(word.start_ms) is part]
    return max(start_ms + 1, inside[-1].end_ms if inside else start_ms + 400 * count)

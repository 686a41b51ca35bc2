"""Suggestions out of moments: who, what, how it went, what to do instead. Pure."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

from devplans.talkthrough.understand import verdict
from devplans.talkthrough.understand.answers import Answer
from devplans.talkthrough.understand.answers_learned import told
from devplans.talkthrough.understand.moments import Moment
from devplans.talkthrough.understand.parts import Heard, LeftOut, Suggested
from devplans.talkthrough.understand.people_parts import Mention
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.words import Word

MAYBE = 3
OPENERS = [opener.split() for opener in ("next time", "you need to", "you have to")]


def left_out(words: Sequence[Word], moment: Moment) -> LeftOut:
    part = words[moment.first : moment.last]
    return LeftOut(part[0].start_ms, said(part), moment.why)


def suggested(
    words: Sequence[Word],
    moment: Moment,
    before: Moment | None,
    mentions: Sequence[Mention],
    lexicon: Lexicon,
) -> Suggested:
    """mentions: all of the talk's, in order."""
    part = words[moment.first : moment.last]
    players, unsure = _people(moment)
    found, _ = verdict.judge(without(words, moment, mentions))
    chosen = [with_opener(part, one) for one in told(part, found)]
    skills, maybe = _skills(words, moment, before, mentions, lexicon)
    instead = {at for one in chosen for at in range(one.first, one.last)}
    return Suggested(
        start_ms=part[0].start_ms,
        end_ms=max(part[-1].end_ms, part[0].start_ms),
        players=players,
        unsure=unsure,
        skills=skills,
        maybe_skills=maybe,
        verdict=found,
        happened=tidy([word for at, word in enumerate(part) if at not in instead]),
        do_instead=" ".join(tidy(part[one.first : one.last]) for one in chosen),
        said=said(part),
        heard=tuple(_heard(words, mention) for mention in _inside(moment, mentions)),
    )


def with_opener(part: Sequence[Word], answer: Answer) -> Answer:
    """With the words right before it that only open it, and say nothing of what happened."""
    for opener in OPENERS:
        first = answer.first - len(opener)
        if first >= 0 and [word.folded for word in part[first : answer.first]] == opener:
            return replace(answer, first=first)
    return answer


def _inside(moment: Moment, mentions: Sequence[Mention]) -> Sequence[Mention]:
    begin = bisect_left(mentions, moment.first, key=lambda mention: mention.first)
    end = bisect_left(mentions, moment.last, key=lambda mention: mention.first)
    return mentions[begin:end]


def _heard(words: Sequence[Word], mention: Mention) -> Heard:
    text = " ".join(word.text for word in words[mention.first : mention.last])
    return Heard(text, tuple(mention.keys), mention.sure and bool(mention.keys))


def without(words: Sequence[Word], moment: Moment, mentions: Sequence[Mention]) -> list[Word]:
    """The moment's words without names and numbers of people."""
    named = {at for m in _inside(moment, mentions) for at in range(m.first, m.last)}
    return [words[at] for at in range(moment.first, moment.last) if at not in named]


def _people(moment: Moment) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(certain, asked). A number that is named in one breath with a sure player is as sure."""
    judged = moment.judged
    any_sure = any(m.sure for m in judged)
    certain = [m.sure or (any_sure and m.kind == "number" and len(m.keys) == 1) for m in judged]
    sure = dict.fromkeys(m.keys[0] for m, known in zip(judged, certain, strict=True) if known)
    doubtful = [m for m, known in zip(judged, certain, strict=True) if not known]
    unsure = dict.fromkeys(
        key for m in (*doubtful, *moment.asked) for key in m.keys if key not in sure
    )
    return tuple(sure), tuple(unsure)[:MAYBE]


def _skills(
    words: Sequence[Word],
    moment: Moment,
    before: Moment | None,
    mentions: Sequence[Mention],
    lexicon: Lexicon,
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    own = [word.folded for word in without(words, moment, mentions)]
    certain, maybe = lexicon.choose(own)
    if not certain and not maybe and before is not None and moment.carried:
        _, maybe = lexicon.choose([w.folded for w in without(words, before, mentions)])
    return tuple(certain), tuple(maybe)[:MAYBE]


def said(part: Sequence[Word]) -> str:
    """All the words as they were said, with their signs."""
    return " ".join(word.text + _sign(word) for word in part).strip()


def _sign(word: Word) -> str:
    signs = word.after.strip()
    return f" {signs}" if signs[:1] in "-–—" and signs else signs


def tidy(part: Sequence[Word]) -> str:
    """A sentence of its own: a capital at first, a full stop at the end."""
    text = said(part).strip(" ,;:–—-")
    if not text:
        return ""
    text = text[0].upper() + text[1:]
    return text if text[-1] in ".!?…" else text + "."

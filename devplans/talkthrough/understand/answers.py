"""Which of somebody's words say what to do instead. Pure."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from devplans.talkthrough.understand import answers_words as ways
from devplans.talkthrough.understand.clauses import CLAUSES, OPENERS, PAUSE_MS, is_bare
from devplans.talkthrough.understand.words import Word

STRONG, FAIR, WEAK = 1.0, 0.7, 0.4
# What an order carries along at most, in words, where no sign ends it.
CARRIED = 18


@dataclass(frozen=True)
class Piece:
    """A clause: words [first, last), whether a sentence begins and ends with it, and how surely it
    says what to do (0 to 1)."""

    first: int
    last: int
    begins: bool
    ends: bool
    strength: float


@dataclass(frozen=True)
class Answer:
    first: int
    last: int
    strength: float


def find(words: Sequence[Word]) -> list[tuple[int, int]]:
    """Words [first, last) that say what to do instead, in order; those that surely do, or else the
    likeliest."""
    found = answers(words)
    sure = [one for one in found if one.strength >= FAIR]
    return [(one.first, one.last) for one in sure or found[-1:]]


def answers(words: Sequence[Word]) -> list[Answer]:
    """All stretches that may say what to do, with how surely."""
    bare = is_bare(words)
    parts = pieces(words, bare=bare)
    found: list[Answer] = []
    at = 0
    while at < len(parts):
        if parts[at].strength < WEAK:
            at += 1
            continue
        end = _run(words, parts, at, bare=bare)
        first = _condition(words, parts, at)
        strength = max(part.strength for part in parts[at:end])
        if found and found[-1].last == first and (found[-1].strength >= FAIR) == (strength >= FAIR):
            before = found.pop()
            first, strength = before.first, max(strength, before.strength)
        found.append(Answer(_without_leading(words, first), parts[end - 1].last, strength))
        at = end
    return found


def pieces(words: Sequence[Word], *, bare: bool) -> list[Piece]:
    if not words:
        return []
    starts = [0]
    opening = _opening(words, 0)
    for at in range(1, len(words)):
        if _sign(words, at) or (at >= opening and _cut(words, at, bare=bare)):
            starts.append(at)
            opening = at + _opening(words, at)
    made: list[Piece] = []
    for first, last in zip(starts, [*starts[1:], len(words)], strict=True):
        begins = first == 0 or _sentence(words, first)
        ends = last == len(words) or _sentence(words, last)
        strength = _strength(words, first, last, begins=begins, bare=bare)
        made.append(Piece(first, last, begins, ends, strength))
    return made if bare else _with_fragments(words, made)


def _with_fragments(words: Sequence[Word], parts: Sequence[Piece]) -> list[Piece]:
    """Sentences without a verb that name a posture may be orders too, and so may what stands
    before an order in its sentence ("two swings, and then go")."""
    made = list(parts)
    at = 0
    while at < len(made):
        end = at + 1
        while end < len(made) and not made[end].begins:
            end += 1
        verbless = _verbless(words, made[at].first, made[end - 1].last)
        orders = [which for which in range(at, end) if made[which].strength >= FAIR]
        until = min(orders, default=end if verbless else at)
        for which in range(at, until):
            part = made[which]
            if part.strength < WEAK and (not orders or _verbless(words, part.first, part.last)):
                made[which] = replace(part, strength=FAIR if orders else WEAK)
        at = end
    return made


def _sentence(words: Sequence[Word], at: int) -> bool:
    return words[at - 1].ends_sentence or words[at].gap_ms > PAUSE_MS


def _sign(words: Sequence[Word], at: int) -> bool:
    signs = words[at - 1].after
    return any(sign in signs for sign in ".!?…,;:–—") or words[at].gap_ms > PAUSE_MS


def _opening(words: Sequence[Word], at: int) -> int:
    """How many words belong to the phrase that opens a clause at `at`."""
    ahead = _text(words, at, at + 5)
    found = [match for way in (CLAUSES, ways.WISH) if (match := way.match(ahead))]
    return max((len(match[0].split()) for match in found), default=1)


def _cut(words: Sequence[Word], at: int, *, bare: bool) -> bool:
    ahead = _text(words, at, at + 5)
    if words[at].folded in ("just", "don't", "do", "try") and words[at - 1].folded in ways.SUBJECTS:
        return False
    if CLAUSES.match(ahead) or ways.WISH.match(ahead):
        return True
    return bare and (OPENERS.match(ahead) is not None or _orders(words, at))


def _orders(words: Sequence[Word], at: int) -> bool:
    """In text without signs: does an order begin here?"""
    word, before = words[at].folded, words[at - 1].folded
    following = words[at + 1].folded if at + 1 < len(words) else ""
    if following == "and" and word in ("go", "come", "turn", "stop", "try", "catch"):
        following = "it"
    over = words[at - 2].folded if at > 1 else ""
    if word not in ways.DO or ways.LOOKING.match(_text(words, at, at + 4)):
        return False
    if before in ways.SUBJECTS and not (before == "no" and over == "no"):
        return False
    if before.endswith(("'s", "'re", "'ll", "n't", "'d")) or over.endswith("n't"):
        return False
    if word in ways.NOUNISH:
        return following in ("it", "your", "him", "her", "the", "out", "up", "a")
    return following in ways.OBJECTS or (word in ways.PLAIN and following not in ways.IS)


def _text(words: Sequence[Word], first: int, last: int) -> str:
    return " ".join(word.folded for word in words[first:last])


def _without_leading(words: Sequence[Word], first: int) -> int:
    while first + 1 < len(words) and words[first].folded in ways.LEADING:
        if words[first].folded in ("just", "only", "no"):
            break
        first += 1
    return first


def _strength(  # noqa: C901 - the ways of saying it, one after another
    words: Sequence[Word], first: int, last: int, *, begins: bool, bare: bool
) -> float:
    question = "?" in words[last - 1].after
    begun = _behind_openers(words, first, last)
    led = begins or first == 0 or words[first - 1].after != "" or begun > first
    first = begun
    text = _text(words, first, last)
    would = ways.WOULD.match(text)
    asked = would is not None and would[1] in ways.DO and would[1] not in ways.NO_WISH
    if ways.ASKS.match(text + " ") and not ways.WISH.match(text) and not asked:
        return 0.0
    if first and words[first - 1].folded in ("do", "did", "does") and not words[first - 1].after:
        return 0.0
    if ways.NOT_DO.match(text):
        return _ban_strength(words, first, last, text)
    if words[first].folded in ("somebody", "someone"):
        verb = words[first + 1].folded if first + 1 < last else ""
        return STRONG if verb in ways.DO else (FAIR if ways.MUST.search(text) else 0.0)
    if ways.WISH.match(text) and not ways.LOOKING.match(text):
        if last - first == 1:
            return 0.0
        return FAIR if text.startswith(("first", "rather", "the job", "i'd have")) else STRONG
    if ways.MUST.search(text):
        return WEAK / 2 if ways.PAST.search(text) or question else FAIR + 0.1
    if asked:
        return FAIR + 0.1
    if words[first].folded == "you" and first + 1 < last and words[first + 1].folded in ways.DO:
        return FAIR if _conditional(words, first) else 0.0
    if words[first].folded in ways.DO and not ways.LOOKING.match(text) and not question:
        joined = words[first - 1].folded in ("and", "or") if first else False
        return _order_strength(words, first, last, led=led, bare=bare, joined=joined)
    return 0.0


def _behind_openers(words: Sequence[Word], first: int, last: int) -> int:
    """Where it begins without "so", "and then" and the like; "no hands" keeps its "no"."""
    while first + 1 < last and words[first].folded in ways.LEADING:
        near = (words[first + 1].folded, words[first - 1].folded)
        if words[first].folded == "no" and not words[first].after and "no" not in near:
            break
        first += 1
    return first


def _conditional(words: Sequence[Word], first: int) -> bool:
    """Does "when ..." or "if ..." stand before, in the same sentence ("when it flies, you fly")?"""
    at = first - 1
    while at > 0 and first - at < 12 and not words[at - 1].ends_sentence:
        at -= 1
    return at >= 0 and words[at].folded in ("when", "if", "once")


def _ban_strength(words: Sequence[Word], first: int, last: int, text: str) -> float:
    if ways.NOT_ASKED.match(text):
        return 0.0
    if words[first].folded == "never":
        return STRONG if first + 1 < last and words[first + 1].folded in ways.DO else 0.0
    return STRONG


def _order_strength(
    words: Sequence[Word], first: int, last: int, *, led: bool, bare: bool, joined: bool
) -> float:
    following = words[first + 1].folded if first + 1 < last else ""
    if following in ways.IS or words[first].folded == following:
        return 0.0
    if joined:  # "and put it back" may tell what was done
        return WEAK / 2 if words[first].folded in ways.SAME_PAST else WEAK
    if bare and not _orders(words, first):
        return WEAK if led and following in ways.OBJECTS else 0.0
    if first and not led:
        return FAIR if following in ways.OBJECTS else 0.0
    if last - first > 1:
        return FAIR if ways.SOFT.match(_text(words, first, last)) else STRONG
    return FAIR if first == 0 or words[first - 1].ends_sentence else WEAK / 2


def _verbless(words: Sequence[Word], first: int, last: int) -> bool:
    text = _text(words, first, last)
    main = ways.SUBORDINATE.sub("", re.sub(r"\\bnot (?=\\w+$)", "", text))
    if not 1 < last - first <= 14 or ways.FINITE.search(main) or "?" in words[last - 1].after:
        return False
    tokens = [word.folded for word in words[first:last]]
    if tokens[0].endswith("ing") or any(
        token.endswith("s")
        and token not in ways.POSTURE | {"steps"}
        and token.rstrip("s") in ways.DO
        for token in tokens
    ):
        return False
    return any(token in ways.POSTURE for token in tokens)


def _run(words: Sequence[Word], parts: Sequence[Piece], at: int, *, bare: bool) -> int:
    """The end of the stretch that begins with the piece `at`: what follows it in its sentence, and
    further orders."""
    end = at + 1
    while end < len(parts):
        part = parts[end]
        if part.strength >= FAIR > parts[at].strength and not part.begins:
            break
        if part.strength >= WEAK and (not part.begins or part.strength >= FAIR):
            end += 1
            continue
        if part.begins:
            break
        length = part.last - parts[at].first
        if _belongs(words, part.first):
            end += 1
            continue
        tells = ways.TELLS.match(_text(words, _without_leading(words, part.first), part.last) + " ")
        if (bare and (tells or length > CARRIED)) or (tells and parts[at].strength < FAIR):
            break
        end += 1
    return end


def _belongs(words: Sequence[Word], first: int) -> bool:
    """Does a clause that begins here say when or what for ("so you can see both")?"""
    word, before = words[first].folded, words[first - 1].folded
    following = words[first + 1].folded if first + 1 < len(words) else ""
    if word == "so" and following in ("you", "that", "she", "he", "they", "we", "your"):
        return True
    return before in (
        "moment",
        "time",
        "second",
        "when",
        "before",
        "until",
        "till",
        "soon",
        "as",
        "if",
    )


def _condition(words: Sequence[Word], parts: Sequence[Piece], at: int) -> int:
    """ "When she drives, go": the condition belongs to it."""
    if at and not parts[at].begins:
        before = parts[at - 1]
        first = _without_leading(words, before.first)
        if words[first].folded in ("when", "if", "once", "before", "after", "until", "whenever"):
            return before.first
    return parts[at].first

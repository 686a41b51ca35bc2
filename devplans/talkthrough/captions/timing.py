"""Words with what is known of their times as cues without overlaps. Pure."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from devplans.talkthrough.captions.parts import Raw
from devplans.talkthrough.captions.wording import Token
from devplans.talkthrough.understand.parts import Cue

# How long a spoken word takes, in ms, where nothing else says so: by its letters.
_WORD_MS, _LETTER_MS = 150, 70
_PACE_MS = 400
_SLOWEST_MS, _FASTEST_MS = 600, 250
# A cue stays on screen after its last word; slower than this nobody talks.
_HANG_MS, _HANGING_MS = 1_500, 1_000
# A pause between two words whose beginnings are known; a shorter one counts where so many words
# have told how fast the talk is.
_PAUSE_MS, _SHORT_PAUSE_MS, _MANY_TIMES = 500, 180, 20
_OFF_MS = 300
_MOST_WORDS = 24
_LEAST_WORDS = 4

Group = tuple[int, list[str]]


def cues_of(raws: Sequence[Raw], words: Sequence[Sequence[Token]]) -> list[Cue]:
    """raws: by time, each with its own words. A cue with inner times is cut where sharing out its
    time by letters would put a word off by more than 0.3 s, and at pauses."""
    loose: list[tuple[int, int | None, str]] = []
    grouped = [
        _groups(raw, tokens) if tokens else [] for raw, tokens in zip(raws, words, strict=True)
    ]
    slow, pause_ms = _tempo(grouped)
    for raw, groups in zip(raws, grouped, strict=True):
        if groups:
            loose += _pieces(raw, groups, slow, pause_ms)
    loose.sort(key=lambda piece: piece[0])
    return _closed(loose)


def _tempo(grouped: Sequence[Sequence[Group]]) -> tuple[float, int]:
    """By how much words take longer than their letters say, in a file with times inside of its
    lines: the middle one of all words, as pauses are rarer than words. And what is a pause."""
    found = sorted(
        (following[0] - at) / _spoken_ms(words)
        for groups in grouped
        for (at, words), following in pairwise(groups)
    )
    if len(found) < _MANY_TIMES:
        return 1.0, _PAUSE_MS
    return found[len(found) // 2], _SHORT_PAUSE_MS


def _spoken_ms(words: Sequence[str]) -> int:
    return sum(_WORD_MS + _LETTER_MS * len(word) for word in words)


def _pieces(
    raw: Raw, groups: Sequence[Group], slow: float, pause_ms: int
) -> list[tuple[int, int | None, str]]:
    if len(groups) == 1:
        return [(raw.start_ms, raw.end_ms, " ".join(groups[0][1]))]
    ends = [_end(groups, index, raw.end_ms, slow) for index in range(len(groups))]
    pieces: list[tuple[int, int | None, str]] = []
    first = 0
    for index in range(1, len(groups) + 1):
        if index == len(groups) or _breaks(groups, ends, first, index, pause_ms):
            text = " ".join(word for _at, some in groups[first:index] for word in some)
            pieces.append((groups[first][0], ends[index - 1], text))
            first = index
    return pieces


def _groups(raw: Raw, tokens: Sequence[Token]) -> list[Group]:
    """Words by the time that is known before them; times that go back or leave the cue are none."""
    groups: list[Group] = [(raw.start_ms, [])]
    for token in tokens:
        at = token.at_ms
        last = groups[-1][0]
        if at is not None and at > last and (raw.end_ms is None or at <= raw.end_ms):
            if groups[-1][1]:
                groups.append((at, []))
            else:
                groups[-1] = (at, [])
        groups[-1][1].append(token.text)
    return groups


def _end(groups: Sequence[Group], index: int, end_ms: int | None, slow: float) -> int:
    at, words = groups[index]
    spoken = at + round(slow * _spoken_ms(words))
    limit = groups[index + 1][0] if index + 1 < len(groups) else end_ms
    return spoken if limit is None else max(at, min(spoken, limit))


def _breaks(
    groups: Sequence[Group], ends: Sequence[int], first: int, index: int, pause_ms: int
) -> bool:
    """Does a new cue begin with the group at `index`?"""
    if groups[index][0] - ends[index - 1] >= pause_ms or index - first >= _MOST_WORDS:
        return True
    letters = [0]
    for _at, words in groups[first : index + 1]:
        letters.append(letters[-1] + sum(len(word) + 1 for word in words))
    start, span = groups[first][0], ends[index] - groups[first][0]
    return any(
        abs(start + span * done // letters[-1] - at) > _OFF_MS
        for done, (at, _words) in zip(letters, groups[first : index + 1], strict=False)
    )


def _closed(loose: Sequence[tuple[int, int | None, str]]) -> list[Cue]:
    """Pieces in order of time with ends: none reaches into the next one."""
    pace = _pace(loose)
    cues: list[Cue] = []
    for together, following in _same_start(loose):
        start_ms = together[0][0]
        ends = [_own_end(piece, pace) for piece in together]
        end_ms = max(ends)
        if len(together) > 1:
            end_ms = max(end_ms, start_ms + sum(_said_ms(text, pace) for _s, _e, text in together))
        if following is not None:
            end_ms = min(end_ms, following)
        cues += _shared(start_ms, end_ms, [text for _start, _end, text in together])
    return cues


def _same_start(
    loose: Sequence[tuple[int, int | None, str]],
) -> Iterator[tuple[Sequence[tuple[int, int | None, str]], int | None]]:
    """Runs of pieces that begin together, and when the next run begins."""
    first = 0
    for index in range(1, len(loose) + 1):
        if index == len(loose) or loose[index][0] != loose[first][0]:
            yield loose[first:index], loose[index][0] if index < len(loose) else None
            first = index


def _shared(start_ms: int, end_ms: int, texts: Sequence[str]) -> list[Cue]:
    total = sum(len(text) for text in texts)
    cues, done = [], 0
    for text in texts:
        begin = start_ms + (end_ms - start_ms) * done // total
        done += len(text)
        cues.append(Cue(begin, start_ms + (end_ms - start_ms) * done // total, text))
    return cues


def _said_ms(text: str, pace: float) -> int:
    return round(_WORD_MS + pace * (text.count(" ") + 1))


def _own_end(piece: tuple[int, int | None, str], pace: float) -> int:
    start_ms, end_ms, text = piece
    if end_ms is None:
        return start_ms + _said_ms(text, pace)
    return min(end_ms, start_ms + _HANG_MS + _HANGING_MS * (text.count(" ") + 1))


def _pace(loose: Sequence[tuple[int, int | None, str]]) -> float:
    """Ms for each word of a file whose cues have no ends: the faster ones of its lines are those
    without a pause."""
    found = []
    for (start_ms, end_ms, text), following in pairwise(loose):
        words = text.count(" ") + 1
        if end_ms is None and words >= _LEAST_WORDS and following[0] > start_ms:
            found.append((following[0] - start_ms) / words)
    if len(found) < _LEAST_WORDS:
        return _PACE_MS
    found.sort()
    return min(_SLOWEST_MS, max(_FASTEST_MS, found[len(found) * 2 // 5]))

"""Transcripts as cues: WebVTT, SRT, and lines that begin with a time. Pure.

    read(content) -> Transcript(cues, faults, form)

Never raises. What is broken is named by its line, and the rest is kept. Captions that programs have
written roll: each line comes again in the next cue, which is undone here, and times inside of lines
set the times of their words. Files of up to 16 MB are read, in time that grows with their size;
memory is at most some thirty times the file's size.
"""

from devplans.talkthrough.captions import cued, parts, plain, rolling, timing, wording
from devplans.talkthrough.captions.letters import lines_of
from devplans.talkthrough.captions.parts import Fault, Faults, Raw, Transcript

__all__ = ["Fault", "Transcript", "read"]


def read(content: bytes | str) -> Transcript:
    """The cues of a file, by time and without overlaps, and what could not be read of it."""
    if len(content) > parts.MOST_BYTES:
        return _none(parts.TOO_LARGE)
    if not content.strip():
        return _none(parts.EMPTY)
    lines = lines_of(content)
    if lines is None:
        return _none(parts.NOT_TEXT)
    faults = Faults()
    form = _form(lines)
    if not form:
        return _none(parts.NO_TIMES)
    raws = plain.read(lines, faults) if form == "plain" else cued.read(lines, faults)
    words = _words(raws, faults)
    order = _by_time(raws, faults)
    shown = [(raws[index], words[index]) for index in order]
    found = timing.cues_of([raw for raw, _words in shown], rolling.new_words(shown))
    if not found:
        faults.add(0, parts.NO_WORDS)
    return Transcript(tuple(found), faults.all(), form)


def _none(why: str) -> Transcript:
    return Transcript((), (Fault(0, why),))


def _form(lines: list[str]) -> str:
    if cued.is_webvtt(lines):
        return "webvtt"
    if cued.has_timing(lines):
        return "srt"
    return "plain" if any(map(plain.begins_with_time, lines)) else ""


def _words(raws: list[Raw], faults: Faults) -> list[list[wording.Token]]:
    cleaned = [[wording.cleaned(line) for line in _within(raw, faults)] for raw in raws]
    labels = wording.labels_of(lines[0] for lines in cleaned if lines)
    return [
        wording.tokens_of([wording.unlabelled(line, labels) for line in lines]) for lines in cleaned
    ]


def _within(raw: Raw, faults: Faults) -> list[str]:
    """The cue's lines, as far as they are not too long."""
    left = parts.MOST_LETTERS
    kept: list[str] = []
    for line in raw.lines:
        if len(line) > left:
            faults.add(raw.line, parts.TOO_LONG)
            return [*kept, line[:left]]
        kept.append(line)
        left -= len(line)
    return kept


def _by_time(raws: list[Raw], faults: Faults) -> list[int]:
    """The places of the cues in order of time."""
    latest = 0
    for raw in raws:
        if raw.start_ms < latest:
            faults.add(raw.line, parts.OUT_OF_ORDER)
        latest = max(latest, raw.start_ms)
    return sorted(range(len(raws)), key=lambda index: raws[index].start_ms)

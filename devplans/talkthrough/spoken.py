"""A talk in spoken time: its takes one after the other, and where the film was at each moment."""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from devplans.feedback.voices.log import Log
from devplans.talkthrough.models import TalkLine, TalkTake, TalkThrough
from devplans.talkthrough.understand.parts import Cue
from devplans.talkthrough.understand.words import Word, words_of

# Between two takes: nothing carries over from one to the next.
GAP_MS = 30_000
# A film that ran on for less than this stood still.
STOOD_STILL_MS = 400


@dataclass
class Part:
    """One take, or the whole transcript. base_ms: where it begins in spoken time."""

    take: TalkTake | None
    base_ms: int
    log: Log
    lines: list[TalkLine] = field(default_factory=list)

    @property
    def take_id(self) -> UUID | None:
        return self.take.pk if self.take else None

    def film_at(self, sound_ms: int, offset_ms: int) -> int:
        if self.take is None:
            return sound_ms + offset_ms
        if self.log.stretches:
            return self.log.film_at(sound_ms)
        line = next((one for one in self.lines if one.end_ms >= sound_ms), None)
        return line.film_start_ms if line else 0


@dataclass(frozen=True)
class FilmSpan:
    """start_ms may lie outside of the film; end_ms is None where the film stood still."""

    start_ms: int
    end_ms: int | None


class Spoken:
    def __init__(self, talk: TalkThrough, lines: Iterable[TalkLine]) -> None:
        self.talk = talk
        self.parts: list[Part] = []
        by_take: dict[UUID | None, list[TalkLine]] = {}
        for line in lines:
            by_take.setdefault(line.take_id, []).append(line)
        takes: list[TalkTake | None] = [*talk.takes.order_by("number")]
        if None in by_take:
            takes.append(None)
        base = 0
        for take in takes:
            theirs = by_take.get(take.pk if take else None, [])
            self.parts.append(Part(take, base, take.course if take else Log(()), theirs))
            last = max((line.end_ms for line in theirs), default=0)
            base += max(last, (take.length_ms or 0) if take else 0) + GAP_MS

    def cues(self) -> list[Cue]:
        """All words in spoken time."""
        return [
            Cue(part.base_ms + line.start_ms, part.base_ms + line.end_ms, line.text)
            for part in self.parts
            for line in part.lines
        ]

    def words(self) -> list[Word]:
        return words_of(self.cues())

    def part_at(self, spoken_ms: int) -> Part:
        at = bisect_right(self.parts, spoken_ms, key=lambda part: part.base_ms) - 1
        return self.parts[max(0, at)]

    def part_of(self, take_id: UUID | None) -> Part | None:
        return next((part for part in self.parts if part.take_id == take_id), None)

    def film_span(self, start_ms: int, end_ms: int) -> FilmSpan:
        """Where the film was between two spoken times, kept within the film."""
        part = self.part_at(start_ms)
        first, last = start_ms - part.base_ms, end_ms - part.base_ms
        offset = self.talk.offset_ms
        start = part.film_at(first, offset)
        if part.take is None:
            end = part.film_at(last, offset)
        else:
            end = part.log.film_span(first, last)[1] if part.log.stretches else start
        longest = self.talk.film.duration_ms
        if longest is not None:
            end = min(end, longest)
        start_in = max(0, start)
        return FilmSpan(start, end if end - start_in >= STOOD_STILL_MS else None)


def of(talk: TalkThrough) -> Spoken:
    return Spoken(talk, talk.lines.order_by("place"))

"""The playable copy of a film, made piece by piece so that a killed worker goes on where it was.

`copy_pictures` writes closed segments of a minute each and tells of each one that is finished;
`write_sound` writes all of the sound at once; `join` puts them into one MP4 without encoding
anything again.

The copy keeps the source's frame times, shifted to 0, so that a comment's milliseconds fit original
and copy alike. Of several files each begins at the whole millisecond in which the one before ends.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing
from fractions import Fraction
from heapq import merge
from math import gcd, lcm
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import av

from devplans.film.encode import Form, Pictures, Progress, sound_track
from devplans.film.facts import MOST_FPS, Probe
from devplans.film.faults import CRASHED, MediaError
from devplans.film.picture import Upright, inside, matrix_of, turns_of, upright_size
from devplans.film.probe import announced_s, described, end_of, rate_of
from devplans.film.reading import MAX_THREADS, FilmReader, sound_stream
from devplans.film.shelf import SOUND, Part, Segment, Shelf, taken_together
from devplans.film.sound import LAYOUT, RATE, Sound

SEGMENT_S = 60
# What an MP4 can count in; and what is fine enough for any camera where that is not enough.
_MOST_TICKS = 2**31 - 1
_FINE_TICKS = 90_000
# Where decoding begins again there may be some frames that are not whole yet.
_RUN_UP_S = 2

Told = Callable[[Segment | Part], None]
Sources = Sequence[Path | str]


class Plan:
    """What all files of a film have to agree on: size, rate, clock and colours of the copy."""

    def __init__(self, sources: Sources) -> None:
        self.announced: list[Fraction] = []
        bases: list[Fraction] = []
        for source in sources:
            with FilmReader(source) as film:
                bases.append(film.time_base)
                self.announced.append(announced_s(film))
                if len(bases) == 1:
                    self.matrix = matrix_of(film.first)
                    self.first = film.first
                    self.turns = turns_of(film.first)
                    form = Form.of(film)
        self.form = Form(form.size, form.rate, common_base(bases))
        self._is_single = len(bases) == 1

    def upright(self, film: FilmReader) -> Upright:
        """The filter that brings a file's frames to the size of the first one's."""
        turns, size = turns_of(film.first), self.form.size
        if self._is_single:
            return Upright(size, pixels="yuv420p", turns=turns)
        own = upright_size(film.first, film.stream.sample_aspect_ratio)
        return Upright(
            inside(own, size), pixels="yuv420p", turns=turns, canvas=size, matrix=self.matrix
        )

    def share(self, number: int, time: Fraction) -> float:
        """How much of all files is done at `time` of file `number`."""
        total = sum(self.announced)
        done = sum(self.announced[:number]) + min(time, self.announced[number])
        return float(done / total) if total else 0.0


def common_base(bases: Sequence[Fraction]) -> Fraction:
    """The coarsest clock in which every tick of the files', and each millisecond, is whole."""
    if len(bases) == 1:
        return bases[0]
    found = Fraction(1, 1000)
    for base in bases:
        found = Fraction(
            gcd(found.numerator * base.denominator, base.numerator * found.denominator),
            found.denominator * base.denominator,
        )
    fits = found.denominator <= _MOST_TICKS
    return found if fits else Fraction(1, lcm(1000, _FINE_TICKS))


def copy_pictures(
    sources: Sources,
    *,
    done: Shelf,
    folder: Path,
    tell: Told,
    on_progress: Progress | None = None,
    threads: int = MAX_THREADS,
    segment_s: float = SEGMENT_S,
) -> None:
    """Write the segments that `done` lacks into `folder`, and tell of each one that is whole.

    After the last one of a file its `Part` is told. Upright, at most 720p, a keyframe every two
    seconds. Above 60 frames per second every second one is kept. A file that is cut off or damaged
    is copied as far as it can be read; its facts count the frames that really were.
    """
    plan = Plan(sources)
    start_ms = sum(part.length_ms for part in done.parts)
    for number in range(len(done.parts), len(sources)):
        with FilmReader(sources[number], threads="AUTO", most_threads=threads) as film:
            copier = _Copier(plan, film, number, folder=folder, tell=tell, threads=threads)
            copier.segment_s = Fraction(segment_s)
            earlier = [one for one in done.segments if one.part == number]
            part = copier.run(earlier, start_ms, on_progress)
        start_ms += part.length_ms
        tell(part)


class _Copier:
    """Copies one of a film's files."""

    segment_s = Fraction(SEGMENT_S)

    def __init__(
        self, plan: Plan, film: FilmReader, number: int, *, folder: Path, tell: Told, threads: int
    ) -> None:
        self.plan = plan
        self.film = film
        self.number = number
        self.folder = folder
        self.tell = tell
        self.threads = threads
        self.upright = plan.upright(film)
        self.piece: _Piece | None = None

    def run(self, earlier: list[Segment], start_ms: int, on_progress: Progress | None) -> Part:
        film, step = self.film, 2 if rate_of(self.film) > MOST_FPS else 1
        self.start, self.made = Fraction(start_ms, 1000), len(earlier)
        last, count = film.first, 0
        frames = film.frames()
        if earlier:
            count = earlier[-1].read
            last, frames = _resumed(film, earlier[-1].last_pts)
        self.border = Fraction(0)
        with ExitStack() as open_pieces:
            open_pieces.callback(self._drop)
            for frame in frames:
                if count % step == 0:
                    self._add(frame, count, last)
                last, count = frame, count + 1
                if on_progress:
                    on_progress(self.plan.share(self.number, film.time_of(frame)))
            self._close(count, last)
        end = end_of(film, last)
        facts = described(
            film,
            end=end,
            frames=count,
            announced=self.plan.announced[self.number],
            has_audio=sound_stream(film.container) is not None,
        )
        return Part(facts=facts.as_dict(), start_ms=start_ms, end=str(end))

    def _add(self, frame: Any, count: int, last: Any) -> None:
        time = self.film.time_of(frame)
        if self.piece is None or time >= self.border:
            self._close(count, last)
            self.border = (time // self.segment_s + 1) * self.segment_s
            name = f"{self.number:02d}-{self.made:05d}.mp4"
            self.piece = _Piece(self.folder / name, self, self.start + time)
        self.piece.add(frame, self.start + time)

    def _close(self, count: int, last: Any) -> None:
        if self.piece is None:
            return
        piece, self.piece = self.piece, None
        piece.finish()
        self.made += 1
        self.tell(
            Segment(
                name=piece.path.name,
                part=self.number,
                start=str(piece.start),
                frames=piece.frames,
                read=count,
                last_pts=last.pts,
            )
        )

    def _drop(self) -> None:
        if self.piece is not None:
            self.piece.container.close()


class _Piece:
    """One segment under way; its first frame lies at 0, which is `start` of the film."""

    def __init__(self, path: Path, copier: _Copier, start: Fraction) -> None:
        self.path = path
        self.frames = 0
        self._base = copier.plan.form.time_base
        self.start = round(start / self._base) * self._base
        self.container = av.open(str(path), "w", format="mp4")
        plan = copier.plan
        self._pictures = Pictures(
            self.container, plan.form, copier.upright, first=copier.film.first,
            threads=copier.threads,
        )  # fmt: skip

    def add(self, frame: Any, time: Fraction) -> None:
        pts = round((time - self.start) / self._base)
        self.container.mux(self._pictures.packets(frame, pts))
        self.frames += 1

    def finish(self) -> None:
        self.container.mux(self._pictures.rest())
        self.container.close()


def _resumed(film: FilmReader, pts: int) -> tuple[Any, Iterator[Any]]:
    """The frame `pts`, which is done, and those that follow it."""
    run_up = int(_RUN_UP_S / film.time_base)
    for seek in (True, False):
        frames = film.frames_from(max(film.first.pts, pts - run_up)) if seek else film.frames()
        run = _rising(frames, pts)
        found = next(run, None)
        if found is not None and found.pts == pts:
            return found, run
    raise MediaError(CRASHED, f"the frame {pts} is not found again")


def _rising(frames: Iterator[Any], pts: int) -> Iterator[Any]:
    """Frames from `pts` on, each later than the one before."""
    last = pts - 1
    for frame in frames:
        if frame.pts > last:
            last = frame.pts
            yield frame


def write_sound(
    sources: Sources, parts: Sequence[Part], out: Path | str, *, on_progress: Progress | None = None
) -> bool:
    """Write the sound of all files along the pictures; False, and no file, where there is none.

    Where a file is silent, or begins after the one before has ended, silence keeps the sound with
    its picture. The sound stops with the last picture.
    """
    with ExitStack() as stack:
        sounds = []
        for source, part in zip(sources, parts, strict=True):
            base = part.probe.first_pts * Fraction(part.probe.time_base)
            sounds.append(stack.enter_context(closing(Sound(source, base))))
        if not any(sound.is_heard for sound in sounds):
            return False
        container = stack.enter_context(av.open(str(out), "w", format="mp4"))
        track = sound_track(container)
        length = _length(parts)
        for sound, part in zip(sounds, parts, strict=True):
            for block in _laid(sound, part, is_last=part is parts[-1]):
                container.mux(track.encode(block))
                if on_progress:
                    on_progress(min(1.0, float(block.pts / RATE / length)))
        container.mux(track.encode(None))
    return True


def _laid(sound: Sound, part: Part, *, is_last: bool) -> Iterator[Any]:
    """A file's sound at its place in the film, filled up with silence to the next file's."""
    start = part.start_ms * RATE // 1000
    end = Fraction(part.end)
    last = 0
    for block in sound.until(end):
        last = block.pts + block.samples
        block.pts += start
        yield block
    goal = part.length_ms * RATE // 1000
    while not is_last and last < goal:
        samples = min(RATE, goal - last)
        silence = av.AudioFrame(format="s16", layout=LAYOUT, samples=samples)
        silence.planes[0].update(bytes(silence.planes[0].buffer_size))
        silence.sample_rate, silence.time_base = RATE, Fraction(1, RATE)
        silence.pts = start + last
        last += samples
        yield silence


def join(shelf: Shelf, out: Path | str, *, on_progress: Progress | None = None) -> None:
    """Put the finished pieces into one MP4, its index first; nothing is encoded again.

    A share of 1 is told when only the index is left to be moved.
    """
    with ExitStack() as stack:
        options = {"movflags": "+faststart"}
        container = stack.enter_context(av.open(str(out), "w", format="mp4", options=options))
        model = stack.enter_context(av.open(str(shelf.path(shelf.segments[0].name))))
        video = container.add_stream_from_template(model.streams.video[0])
        video.time_base = model.streams.video[0].time_base
        pieces = _joined(shelf, video, bytes(model.streams.video[0].codec_context.extradata))
        tracks = [pieces]
        if shelf.is_heard:
            sound = stack.enter_context(av.open(str(shelf.path(SOUND))))
            audio = container.add_stream_from_template(sound.streams.audio[0])
            tracks.append(_moved(sound, audio))
        end = _length(shelf.parts)
        for time, packet in merge(*tracks, key=lambda one: one[0]):
            container.mux(packet)
            if on_progress:
                on_progress(min(0.99, float(time / end)))
        if on_progress:
            on_progress(1.0)


def _length(parts: Sequence[Part]) -> Fraction:
    part = parts[-1]
    return Fraction(part.start_ms, 1000) + Fraction(part.end)


def _joined(shelf: Shelf, video: Any, extradata: bytes) -> Iterator[tuple[Fraction, Any]]:
    held: Any = None
    for segment in shelf.segments:
        with av.open(str(shelf.path(segment.name))) as container:
            stream = container.streams.video[0]
            if bytes(stream.codec_context.extradata) != extradata:
                raise MediaError(CRASHED, f"{segment.name} was written in another way")
            base, start = stream.time_base, Fraction(segment.start)
            for packet in container.demux(stream):
                if not packet.size:
                    continue
                time = start + packet.pts * base
                packet.stream = video
                packet.time_base = base
                packet.pts = packet.dts = round(time / base)
                if held is not None:
                    # The last frame of a segment lasts until the next one begins.
                    held[1].duration = packet.pts - held[1].pts
                    yield held
                held = (time, packet)
    if held is not None:
        held[1].duration = max(1, round(_length(shelf.parts) / held[1].time_base) - held[1].pts)
        yield held


def _moved(container: Any, track: Any) -> Iterator[tuple[Fraction, Any]]:
    for packet in container.demux(container.streams.audio[0]):
        if packet.size:
            time = packet.pts * packet.time_base
            packet.stream = track
            yield time, packet


def make_copy(
    source: Path | str,
    out: Path | str,
    *,
    on_progress: Progress | None = None,
    segment_s: float = SEGMENT_S,
) -> Probe:
    """The playable copy of one file in one go; see `copy_pictures`."""
    return join_files([source], out, on_progress=on_progress, segment_s=segment_s)


def join_files(
    sources: Sources,
    out: Path | str,
    *,
    on_progress: Progress | None = None,
    segment_s: float = SEGMENT_S,
) -> Probe:
    """One playable copy of several files, one after the other, in one go."""
    with TemporaryDirectory() as place:
        made, shelf = Path(place) / "made", Shelf(Path(place) / "kept", "one go")
        made.mkdir()

        def tell(thing: Segment | Part) -> None:
            if isinstance(thing, Segment):
                shelf.keep(thing, made / thing.name)
            else:
                shelf.keep_part(thing)

        copy_pictures(
            sources, done=shelf, folder=made, tell=tell,
            on_progress=on_progress, segment_s=segment_s,
        )  # fmt: skip
        sound = made / SOUND
        shelf.keep_sound(sound if write_sound(sources, shelf.parts, sound) else None)
        join(shelf, out)
        if on_progress:
            on_progress(1.0)
        return taken_together(shelf.parts, has_audio=bool(shelf.is_heard))

"""Comments and possessions as WebVTT (W3C), and cues of any WebVTT file as comments. Pure.

A cue of ours says its facts in the first line of its payload, then the words:

    not yet | closeout-technique | #12, #7 | one moment
    Hips turn late.
    Next time: Short steps.

so it can be read on any player, changed in any editor, and read back without loss. A line end
inside of the words is a line end where that is safe, else a character reference; "-->" never
stands in a payload. A moment has no length, a cue must have one: it is shown for three seconds and
says that it is one moment. Cues of others become notes that hold their text.
"""

import html
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from devplans.feedback.noted import (
    BY_WORDS,
    MOST_BYTES,
    MOST_COMMENTS,
    VERDICTS,
    Noted,
    Problem,
    Reading,
    Who,
    lines_ended,
    short,
    who,
)

MOMENT_MS = 3_000
MOMENT = "one moment"
NEXT_TIME = "Next time:"
ARROW = "-->"
BLANKS = {" ", "\t"}
SIDES = {"ours": "Our ball", "theirs": "Their ball"}
_STAMP = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMING = re.compile(rf"[ \t]*{_STAMP}[ \t]*-->[ \t]*{_STAMP}(?:[ \t].*)?")
_TAG = re.compile(r"<[^<>]*>")
_SPEAKER = re.compile(r"<v(?:\.[^\s<>]*)?[ \t]([^<>]*)>")
_NUMBERED = re.compile(r"(?<![\w&#])#(\d{1,3})\b")
# A line end that may be written as one: words on both sides, none of which begins our own line.
_PLAIN_END = re.compile(rf"(?<=\S)\n(?=\S)(?!{NEXT_TIME})")


def stamp(ms: int) -> str:
    """Whole milliseconds as a WebVTT timestamp; hours only where there are any."""
    if ms < 0:
        raise ValueError("a film has no time before its first frame")
    minutes, rest = divmod(ms, 60_000)
    hours, minutes = divmod(minutes, 60)
    front = f"{hours:02}:" if hours else ""
    return f"{front}{minutes:02}:{rest // 1000:02}.{rest % 1000:03}"


def stamp_of_seconds(seconds: float) -> str:
    """Seconds as a timestamp, to the nearest millisecond; 59.9996 s is a minute."""
    return stamp(int(seconds * 1000 + 0.5))


def parse_stamp(text: str) -> int:
    """A timestamp in milliseconds. Raises ValueError for what the grammar does not allow."""
    match = re.fullmatch(_STAMP, text)
    if match is None or not text.isascii():
        raise ValueError(text)
    return _ms(*match.groups(default="0"))


def _ms(hours: str, minutes: str, seconds: str, rest: str) -> int:
    # Longer than any film can be; int() of a million digits would take its time.
    if len(hours) > 5:
        raise ValueError(hours)
    return ((int(hours) * 60 + int(minutes)) * 60 + int(seconds)) * 1000 + int(rest)


# --- writing ---------------------------------------------------------------


def escaped(text: str) -> str:
    """`text` as cue text on one line; `unescaped` gives it back."""
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return text.replace("\0", "�").replace("\r", "&#13;").replace("\n", "&#10;")


def unescaped(text: str) -> str:
    """Cue text without tags and references."""
    return html.unescape(_TAG.sub("", text))


def _words(text: str) -> list[str]:
    """Words as lines of a payload, none of them blank or mistaken for another line."""
    marked = _PLAIN_END.sub("\0", text.replace("\0", "�"))
    return [_guarded(escaped(part)) for part in marked.split("\0")]


def _guarded(line: str) -> str:
    """A line whose spaces at its ends survive editors, and that is not taken for "Next time:"."""
    if line.startswith(NEXT_TIME):
        line = f"&#{ord(line[0])};{line[1:]}"
    if line[:1] in BLANKS:
        line = f"&#{ord(line[0])};{line[1:]}"
    if line[-1:] in BLANKS:
        line = f"{line[:-1]}&#{ord(line[-1])};"
    return line


def _named(player: Who) -> str:
    """A label inside of the first line, whose own signs it must not hold."""
    label = escaped(player.label).replace(",", "&#44;").replace("|", "&#124;")
    return _guarded(label)


def payload(comment: Noted) -> list[str]:
    """The lines of a comment's cue."""
    players = ", ".join(_named(player) for player in comment.players)
    skill = _guarded(escaped(comment.skill).replace("|", "&#124;"))
    head = [VERDICTS[comment.verdict], skill, players]
    if comment.end_ms is None:
        head.append(MOMENT)
    lines = [" | ".join(head)]
    if comment.happened:
        lines += _words(comment.happened)
    if comment.do_instead:
        first, *rest = _words(comment.do_instead)
        lines += [f"{NEXT_TIME} {first}", *rest]
    return lines


def _cue(key: str, start_ms: int, end_ms: int, lines: Iterable[str]) -> str:
    return "\n".join([key, f"{stamp(start_ms)} {ARROW} {stamp(end_ms)}", *lines])


def _note(text: str) -> str:
    """A header comment; it ends at the first blank line and may hold no arrow."""
    return f"NOTE {' '.join(text.replace(ARROW, '->').split())}"


def written(comments: Iterable[Noted], *, note: str) -> str:
    """A WebVTT file of comments, by time. Ids are single lines without an arrow."""
    blocks = ["WEBVTT", _note(note)]
    for one in sorted(comments, key=lambda comment: (comment.start_ms, comment.id)):
        end_ms = one.start_ms + MOMENT_MS if one.end_ms is None else one.end_ms
        blocks.append(_cue(one.id, one.start_ms, end_ms, payload(one)))
    return "\n\n".join(blocks) + "\n"


@dataclass(frozen=True)
class Stretch:
    """A possession: side "ours" or "theirs"."""

    id: str
    side: str
    start_ms: int
    end_ms: int


def chapters(stretches: Iterable[Stretch], *, note: str) -> str:
    """Possessions as chapters: "Our ball 1", "Their ball 1", ..."""
    counts = dict.fromkeys(SIDES, 0)
    blocks = ["WEBVTT", _note(note)]
    for one in sorted(stretches, key=lambda stretch: stretch.start_ms):
        counts[one.side] += 1
        title = f"{SIDES[one.side]} {counts[one.side]}"
        blocks.append(_cue(one.id, one.start_ms, one.end_ms, [title]))
    return "\n\n".join(blocks) + "\n"


def captions(spoken: Iterable[tuple[int, int, str]], *, note: str) -> str:
    """What is said, as captions: (start_ms, end_ms, words); what takes no time is left out."""
    blocks = ["WEBVTT", _note(note)]
    said = [one for one in spoken if one[0] < one[1] and one[2].strip()]
    for number, (start_ms, end_ms, words) in enumerate(sorted(said), start=1):
        blocks.append(_cue(str(number), start_ms, end_ms, [_guarded(escaped(words))]))
    return "\n\n".join(blocks) + "\n"


# --- reading ---------------------------------------------------------------


@dataclass(frozen=True)
class Cue:
    """A cue as it stands in a file: `lines` are its payload, unread; line: of its first line."""

    id: str
    start_ms: int
    end_ms: int
    lines: tuple[str, ...]
    line: int


def read_bytes(content: bytes) -> Reading:
    """The comments of a file. Never raises: what cannot be used is named in the result."""
    if len(content) > MOST_BYTES:
        return Reading(problems=[Problem(0, "large")])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = lines_ended(content[: error.start].decode("latin-1")).count("\n") + 1
        return Reading(problems=[Problem(0, "letters", str(line))])
    return read(text)


def read(text: str) -> Reading:
    """The comments of a WebVTT text. Never raises."""
    reading = Reading()
    lines = lines_ended(text.removeprefix("﻿").replace("\0", "�")).split("\n")
    if not re.match(r"WEBVTT(?:[ \t]|$)", lines[0]):
        reading.problems.append(Problem(0, "signature", short(lines[0])))
        return reading
    for found in cues(lines):
        if isinstance(found, Problem):
            reading.problems.append(found)
        elif len(reading.comments) == MOST_COMMENTS:
            return Reading(problems=[Problem(0, "many")])
        else:
            reading.comments.append(comment_of(found))
    return reading


def _blocks(lines: list[str]) -> Iterator[tuple[int, list[str]]]:
    """Runs of lines between blank ones, after the header, each with the line it begins on."""
    block: list[str] = []
    start = 1
    for number, line in enumerate([*lines, ""], start=1):
        if line:
            start = start if block else number
            block.append(line)
        elif block:
            yield start, block
            block = []


def cues(lines: list[str]) -> Iterator[Cue | Problem]:
    """Every cue of a file's lines, and a problem for each block that is none."""
    blocks = _blocks(lines)
    next(blocks)
    for start, block in blocks:
        if re.match(r"(?:NOTE|STYLE|REGION)(?:[ \t]|$)", block[0]) and ARROW not in block[0]:
            continue
        yield from _cues_of(start, block)


def _cues_of(start: int, block: list[str]) -> Iterator[Cue | Problem]:
    """A block is one cue; where a blank line is missing, an arrow begins the next one."""
    arrows = [place for place, line in enumerate(block) if ARROW in line]
    if not arrows:
        yield Problem(start, "timing", short(block[0]))
        return
    if arrows[0] > 1:
        yield Problem(start, "timing", short(block[0]))
    for place, arrow in enumerate(arrows):
        end = arrows[place + 1] if place + 1 < len(arrows) else len(block)
        key = block[arrow - 1] if arrow == 1 and place == 0 else ""
        yield _read_cue(start + arrow, key, block[arrow], block[arrow + 1 : end])


def _read_cue(line: int, key: str, timing: str, rest: list[str]) -> Cue | Problem:
    match = _TIMING.fullmatch(timing) if len(timing) < 1_000 and timing.isascii() else None
    if match is None:
        return Problem(line, _timing_fault(timing[:1_000]), short(timing))
    numbers = match.groups(default="0")
    try:
        start_ms, end_ms = _ms(*numbers[:4]), _ms(*numbers[4:])
    except ValueError:
        return Problem(line, "stamp", short(timing))
    if end_ms <= start_ms:
        return Problem(line, "order", short(timing))
    return Cue(key, start_ms, end_ms, tuple(rest), line)


def _timing_fault(timing: str) -> str:
    """Why a line with an arrow is no timing."""
    if re.search(r"\d,\d{3}", timing):
        return "comma"
    if re.search(r"(?<!\d)\d:\d{1,2}:", timing):
        return "hour"
    if re.search(r":[6-9]\d|(?<!\d)[6-9]\d:\d", timing):
        return "sixty"
    return "stamp"


def comment_of(cue: Cue) -> Noted:
    """A cue as a comment: ours by its first line, any other as a note that holds its text."""
    head = [part.strip(" \t") for part in cue.lines[0].split("|")] if cue.lines else []
    if len(head) not in {3, 4} or head[0] not in BY_WORDS or head[3:] not in ([], [MOMENT]):
        return _note_of(cue)
    players = tuple(
        who(html.unescape(label)) for part in head[2].split(",") if (label := part.strip(" \t"))
    )
    happened, do_instead = _split_words(cue.lines[1:])
    return Noted(
        cue.id,
        cue.start_ms,
        None if len(head) == 4 else cue.end_ms,
        players,
        html.unescape(head[1]),
        BY_WORDS[head[0]],
        happened,
        do_instead,
        line=cue.line,
    )


def _split_words(lines: Iterable[str]) -> tuple[str, str]:
    """What stands before the "Next time:" line, and what follows it."""
    happened: list[str] = []
    do_instead: list[str] = []
    into = happened
    for line in lines:
        if line.startswith(NEXT_TIME) and into is happened:
            into = do_instead
            line = line.removeprefix(NEXT_TIME).removeprefix(" ")
        into.append(unescaped(line))
    return "\n".join(happened), "\n".join(do_instead)


def _note_of(cue: Cue) -> Noted:
    """A cue of others: its speakers and "#12" may be players, its text is what happened."""
    whole = "\n".join(cue.lines)
    speakers = [html.unescape(name).strip() for name in _SPEAKER.findall(whole)]
    numbers = _NUMBERED.findall(unescaped(whole))
    players = [Who("", name) for name in speakers if name] + [Who(one) for one in numbers]
    happened, do_instead = _split_words(cue.lines)
    return Noted(
        cue.id, cue.start_ms, cue.end_ms, tuple(dict.fromkeys(players)),
        happened=happened.strip(), do_instead=do_instead.strip(), line=cue.line,
    )  # fmt: skip

"""Talk-throughs with labels: invented people, written as scripts, read as transcripts.

    speaker: a calm club coach, laptop
    style: sentences | srt | plain | auto
    pace: 2.6
    roster:
    12,Maeve "Mo" Okonjo,
    4,Tamsin Reed,tam's in
    talk:
    - Right, second quarter, they come out in a two three zone.
    ~ 2
    @ 12 | closeout-technique | not_yet | stay low on two feet
    Maeve, you fly past her there. I want you to stay low on two feet.
    @ 4 | help-position | did_it
    But Tamsin has a foot in the key already, lovely.

A line after `@` is said about that player (several: `12 4`), on those skills (the first is the
main one), with that verdict; behind the last bar stands, word for word, what of it says what to do
instead. A line after `-` belongs to nobody. `~ 2` is a silence of two seconds. Text lines that
follow each other are said in one breath. How the words become cues is the style's: whole sentences
(WebVTT), the same as SRT, plain timed lines, or rolling captions without signs (each line comes
again in the next cue, with the times of its words).
"""

import csv
import io
import re
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = Path(__file__).parent / "labelled"
TOLD = Path(__file__).parents[2] / "fixtures" / "talk" / "told"
BREATH_S = 0.35


@dataclass(frozen=True)
class Moment:
    """A label. Times in ms of the transcript; skills: the main one first."""

    start_ms: int
    end_ms: int
    players: frozenset[str]
    skills: tuple[str, ...]
    verdict: str
    do_instead: str
    said: str


@dataclass
class Spoken:
    """One word with its time in seconds; `new_line` where the speaker paused or a part begins."""

    text: str
    start_s: float
    end_s: float
    new_line: bool


@dataclass
class Script:
    name: str
    speaker: str = ""
    style: str = "sentences"
    pace: float = 2.6
    roster: list[dict[str, str]] = field(default_factory=list)
    moments: list[Moment] = field(default_factory=list)
    words: list[Spoken] = field(default_factory=list)
    # (text, seconds of silence before it): what a voice reads out
    breaths: list[tuple[str, float]] = field(default_factory=list)
    open_label: list[str] | None = None
    # what is said about nobody
    asides: list[str] = field(default_factory=list)

    @property
    def roster_csv(self) -> str:
        out = io.StringIO()
        writer = csv.DictWriter(out, ["number", "name", "heard_as"])
        writer.writeheader()
        writer.writerows(self.roster)
        return out.getvalue()

    @property
    def transcript(self) -> str:
        return {"auto": rolling, "srt": as_srt, "plain": as_plain}.get(self.style, as_webvtt)(self)


def scripts(half: str) -> list[Script]:
    """half: "tuning", "untouched" or "told", the talks that the understanding is trained with."""
    folder = TOLD if half == "told" else FOLDER / half
    return [read_script(path) for path in sorted(folder.glob("*.txt"))]


def read_script(path: Path) -> Script:
    script = Script(path.stem)
    head, talk = path.read_text(encoding="utf-8").split("\ntalk:\n", 1)
    about, roster = head.split("roster:\n", 1)
    for line in about.strip().splitlines():
        name, value = line.split(":", 1)
        kind = float if name == "pace" else str
        setattr(script, name.strip(), kind(value.strip()))
    for row in csv.reader(roster.strip().splitlines()):
        number, name, heard_as = [*row, "", ""][:3]
        script.roster.append({"number": number.strip(), "name": name, "heard_as": heard_as})
    say_all(script, talk)
    return script


def say_all(script: Script, talk: str) -> None:
    """Lines of a talk, one after another, with their labels."""
    clock, silence = 0.5, 0.0
    label: list[str] | None = None
    for row, line in enumerate(talk.splitlines(), 1):
        line = line.strip()
        if not line:
            continue
        if line.startswith("~"):
            silence += float(line[1:])
            clock += float(line[1:])
            continue
        if line.startswith("@"):
            label = [part.strip() for part in line[1:].split("|")]
            assert len(label) in (3, 4), f"{script.name}, line {row} of the talk: {line}"
            continue
        text = line.removeprefix("-").strip()
        start_s = clock + (BREATH_S if script.words else 0.0)
        clock = _say(script, text, start_s, new_line=bool(silence) or not script.words)
        script.breaths.append((text, silence))
        silence = 0.0
        if line.startswith("-"):
            label = None
            script.asides.append(text)
        elif label is not None:
            _label(script, label, text, start_s, clock, row)


def _say(script: Script, text: str, clock: float, *, new_line: bool) -> float:
    for word in text.split():
        length = (0.4 + 0.12 * len(word)) / script.pace * 2.6 * 0.38
        pause = 0.25 if word[-1] in ".?!" else 0.08 if word[-1] in ",;:" else 0.0
        script.words.append(Spoken(word, clock, clock + length, new_line))
        clock += length + pause
        new_line = False
    return clock


def _label(
    script: Script, label: list[str], text: str, start_s: float, end_s: float, row: int
) -> None:
    players, skills, verdict, *answer = label
    do_instead = answer[0] if answer else ""
    assert verdict in ("did_it", "not_yet", "note"), f"{script.name}, line {row}: {verdict}"
    known = {one["number"] for one in script.roster}
    assert set(players.split()) <= known, f"{script.name}, line {row}: {players} not on the roster"
    last = script.moments[-1] if script.moments else None
    key = (frozenset(players.split()), tuple(skills.split()), verdict, do_instead)
    end_ms = round(end_s * 1000)
    if last is not None and label is script.open_label:
        script.moments[-1] = Moment(last.start_ms, end_ms, *key, said=f"{last.said} {text}")
    else:
        script.moments.append(Moment(round(start_s * 1000), end_ms, *key, said=text))
    script.open_label = label


def check(script: Script) -> list[str]:
    """What is wrong with the labels themselves; empty where nothing is."""
    return [
        f"{script.name}: {moment.do_instead!r} is not in {moment.said!r}"
        for moment in script.moments
        if moment.do_instead and moment.do_instead not in moment.said
    ]


def _stamp(seconds: float, comma: str = ".") -> str:
    ms = round(seconds * 1000)
    hours, minutes = ms // 3_600_000, ms // 60_000 % 60
    return f"{hours:02}:{minutes:02}:{ms // 1000 % 60:02}{comma}{ms % 1000:03}"


def _cues(script: Script, most_words: int = 14) -> list[list[Spoken]]:
    """Words in cues: a new one at a silence, behind a sentence that has some length, at the most
    words."""
    cues: list[list[Spoken]] = []
    for word in script.words:
        last = cues[-1] if cues else None
        full = last and (len(last) >= most_words or (len(last) >= 5 and last[-1].text[-1] in ".?!"))
        if last is None or word.new_line or full:
            cues.append([word])
        else:
            last.append(word)
    return cues


def _text(words: list[Spoken]) -> str:
    return " ".join(word.text for word in words)


def as_webvtt(script: Script) -> str:
    parts = [
        f"{_stamp(cue[0].start_s)} --> {_stamp(cue[-1].end_s)}\n{_text(cue)}"
        for cue in _cues(script)
    ]
    return "WEBVTT\n\n" + "\n\n".join(parts) + "\n"


def as_srt(script: Script) -> str:
    parts = [
        f"{number}\n{_stamp(cue[0].start_s, ',')} --> {_stamp(cue[-1].end_s, ',')}\n{_text(cue)}"
        for number, cue in enumerate(_cues(script), 1)
    ]
    return "\n\n".join(parts) + "\n"


def as_plain(script: Script) -> str:
    lines = []
    for cue in _cues(script, most_words=20):
        seconds = int(cue[0].start_s)
        lines.append(f"[{seconds // 60}:{seconds % 60:02}] {_text(cue)}")
    return "\n".join(lines) + "\n"


def bare(text: str) -> str:
    """As automatic captions write it: small letters, no signs but apostrophes and hyphens."""
    return re.sub(r"[^\w'’\- ]", "", text).lower()


def rolling(script: Script) -> str:
    """Each line is shown twice: first word by word, then again above the next one."""
    parts = ["WEBVTT\nKind: captions\nLanguage: en"]
    above = " "
    for cue in _cues(script, most_words=8):
        start, end = cue[0].start_s, cue[-1].end_s
        first, *rest = cue
        words = bare(first.text) + "".join(
            f"<{_stamp(word.start_s)}><c> {bare(word.text)}</c>" for word in rest
        )
        full = bare(_text(cue))
        parts.append(f"{_stamp(start)} --> {_stamp(end)} align:start position:0%\n{above}\n{words}")
        parts.append(f"{_stamp(end)} --> {_stamp(end + 0.01)} align:start position:0%\n{full}\n ")
        above = full
    return "\n\n".join(parts) + "\n"

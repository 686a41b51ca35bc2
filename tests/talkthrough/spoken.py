"""Talk-throughs read out by machine voices, understood from the sound beside the same from text.

    python -m tests.talkthrough.spoken

Prints for each voice the word error rate, then the table of `scoring` from text and from sound. The
labels' times are those of the voice.
"""

import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from devplans.talkthrough import speech
from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import Understood
from tests.talkthrough import scoring, sounds
from tests.talkthrough.labelled import Script, scripts

# Two of each half, each by another voice.
READ_BY = {
    "a1-club-evening": "flite:slt",
    "b2-ironic-high-school": "flite:awb",
    "b4-quick-and-clean": "flite:rms",
    "a6-dry-as-dust": "espeak-ng:en-us",
}


@dataclass(frozen=True)
class Heard:
    script: Script
    voice: str
    wrong: int
    said: int
    from_text: tuple[Script, Understood]
    from_sound: tuple[Script, Understood]


def chosen() -> list[tuple[Script, str]]:
    found = {one.name: one for half in ("tuning", "untouched") for one in scripts(half)}
    return [(found[name], voice) for name, voice in READ_BY.items()]


def heard(script: Script, voice: str, folder: Path) -> Heard:
    path = folder / f"{script.name}.wav"
    spans = sounds.spoken(script.breaths, path, voice=voice)
    cues = speech.write_down(path)
    text = " ".join(text for text, _silence in script.breaths)
    wrong, said = sounds.word_errors(text, " ".join(cue.text for cue in cues))
    understood = understand(cues, scoring.roster_of(script))
    from_text = (script, scoring.read(script))
    return Heard(script, voice, wrong, said, from_text, (retimed(script, spans), understood))


def retimed(script: Script, spans: Sequence[sounds.Span]) -> Script:
    """The script with its labels where the voice says them."""
    breaths = []
    at = 0
    for text, _silence in script.breaths:
        count = len(text.split())
        breaths.append(script.words[at].start_s * 1000)
        at += count
    moments = []
    for moment in script.moments:
        inside = [
            span
            for begin, span in zip(breaths, spans, strict=True)
            if moment.start_ms - 2 <= begin < moment.end_ms
        ]
        moments.append(replace(moment, start_ms=inside[0][0], end_ms=inside[-1][1]))
    return replace(script, moments=moments)


def table(found: Sequence[Heard]) -> str:
    text = scoring.figures(scoring.score([one.from_text for one in found]))
    sound = scoring.figures(scoring.score([one.from_sound for one in found]))
    lines = [
        f"{one.script.name:28} {one.voice:22} {one.wrong / one.said:6.1%} of {one.said} words wrong"
        for one in found
    ]
    lines.append(f"{'':22} {'from text':24} from sound")
    for name, figures in text.items():
        both = [
            f"{value:.3f} [{low:.3f}, {high:.3f}]" for value, low, high in (figures, sound[name])
        ]
        lines.append(f"{name:22} {both[0]:24} {both[1]}")
    return "\n".join(lines)


def main() -> int:
    import django

    django.setup()
    with tempfile.TemporaryDirectory() as folder:
        print(table([heard(script, voice, Path(folder)) for script, voice in chosen()]))
    return 0


if __name__ == "__main__":
    sys.exit(main())

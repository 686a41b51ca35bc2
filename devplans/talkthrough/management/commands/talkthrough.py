import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from devplans.talkthrough import files
from devplans.talkthrough.rosters import BadRoster, read_roster
from devplans.talkthrough.understand.parts import Cue, RosterPlayer, Suggested, Understood

MOST_OFFSET_S = 24 * 3600
MOST_ROSTER_BYTES = 1_000_000


class Command(BaseCommand):
    help = (
        "What a coach's talk over a film suggests: comments for each player. FILE is a transcript "
        "(WebVTT, SRT, lines that begin with a time), or audio or video, which is written down "
        "first. Needs no database and no network; nothing is kept."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="transcript, audio or video")
        parser.add_argument("--roster", type=Path, required=True, help="CSV: number,name,heard_as")
        parser.add_argument("--json", action="store_true", help="JSON in place of a table")
        parser.add_argument(
            "--offset", type=float, default=0.0, metavar="SECONDS",
            help="film time is the transcript's time plus this",
        )  # fmt: skip

    def handle(self, *args: Any, **options: Any) -> None:
        roster = read_players(options["roster"])
        offset_s = options["offset"]
        if not abs(offset_s) <= MOST_OFFSET_S:
            raise CommandError("--offset is at most 24 hours of seconds.")
        try:
            cues, faults = files.words_in(options["file"])
        except files.Unusable as error:
            raise CommandError(str(error)) from error
        for fault in faults:
            self.stderr.write(f"line {fault.line}: {fault.why}")
        found = understood(shifted(cues, round(offset_s * 1000)), roster)
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found), indent=1))
        else:
            self.stdout.write(as_table(found, {one.key: one for one in roster}))


def read_players(path: Path) -> list[RosterPlayer]:
    try:
        with path.open("rb") as file:
            content = file.read(MOST_ROSTER_BYTES)
        return read_roster(content.decode("utf-8"))
    except OSError as error:
        raise CommandError(f"{path.name} cannot be opened: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise CommandError(f"{path.name}, line {line}: save the roster as UTF-8.") from error
    except BadRoster as error:
        where = f", line {error.line}" if error.line else ""
        raise CommandError(f"{path.name}{where}: {error.why}") from error


def understood(cues: list[Cue], roster: list[RosterPlayer]) -> Understood:
    # The words of the trade are a second's work to load; a broken file is told before.
    from devplans.talkthrough.understand import understand

    return understand(cues, roster)


def shifted(cues: list[Cue], offset_ms: int) -> list[Cue]:
    """The cues in film time; what would lie before the film's beginning lies at it."""
    return [
        replace(
            cue,
            start_ms=max(0, cue.start_ms + offset_ms),
            end_ms=max(0, cue.end_ms + offset_ms),
        )
        for cue in cues
    ]


def as_json(found: Understood) -> dict[str, Any]:
    names = (
        "start_ms", "end_ms", "players", "unsure", "skills", "maybe_skills", "verdict",
        "happened", "do_instead", "said",
    )  # fmt: skip
    return {
        "suggestions": [
            {name: _plain(getattr(one, name)) for name in names} for one in found.suggestions
        ],
        "left_out": [
            {"start_ms": one.start_ms, "said": one.said, "why": one.why} for one in found.left_out
        ],
    }


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


VERDICTS = {"did_it": "did it", "not_yet": "not yet", "note": "note"}


def as_table(found: Understood, roster: dict[str, RosterPlayer]) -> str:
    """A few lines for each suggestion, what is asked in brackets with a question mark."""
    lines = []
    for one in found.suggestions:
        who = _list(_name(roster, key) for key in one.players) or "nobody"
        asked = _list(_name(roster, key) for key in one.unsure)
        what = _list(one.skills) or "no skill"
        maybe = _list(one.maybe_skills)
        lines.append(
            f"{_clock(one.start_ms):>8}  {VERDICTS.get(one.verdict, one.verdict)}: {who}"
            + (f" ({asked}?)" if asked else "")
            + f" · {what}"
            + (f" ({maybe}?)" if maybe else "")
        )
        lines += _words(one)
    lines.append(f"{len(found.suggestions)} suggestions, {len(found.left_out)} stretches left out.")
    return "\n".join(lines)


def _words(one: Suggested) -> list[str]:
    lines = [f"{'':10}{one.happened or one.said}"]
    if one.do_instead:
        lines.append(f"{'':10}Next time: {one.do_instead}")
    return [*lines, ""]


def _list(words: Sequence[str] | Any) -> str:
    return ", ".join(words)


def _name(roster: dict[str, RosterPlayer], key: str) -> str:
    player = roster.get(key)
    if player is None:
        return key
    number = f"#{player.number}" if player.number else ""
    return f"{number} {player.first} {player.last}".strip()


def _clock(ms: int) -> str:
    minutes, seconds = divmod(ms // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from devplans.talkthrough import speech
from devplans.talkthrough.captions.webvtt import written


class Command(BaseCommand):
    help = (
        "Write down the speech in an audio or video file as WebVTT. On this machine: nothing of it "
        "is sent anywhere. Needs no database."
    )
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="audio or video")
        parser.add_argument("--out", type=Path, metavar="X.vtt", help="in place of the screen")

    def handle(self, *args: Any, **options: Any) -> None:
        path, out = options["file"], options["out"]
        if out is not None and not out.absolute().parent.is_dir():
            raise CommandError(f"There is no folder {out.absolute().parent} to write to.")
        try:
            cues = speech.write_down(path, on_progress=self._progress())
        except speech.NoSpeech as error:
            raise CommandError(f"{path.name}: {error.reason}") from error
        except OSError as error:
            raise CommandError(f"{path.name} cannot be opened: {error.strerror}.") from error
        if out is None:
            self.stdout.write(written(cues), ending="")
        else:
            self._keep(out, written(cues))
            self.stdout.write(f"{len(cues)} lines in {out}")

    def _keep(self, out: Path, text: str) -> None:
        """Whole or not at all."""
        made = out.with_name(f".{out.name}.{os.getpid()}")
        try:
            made.write_text(text, encoding="utf-8")
            made.replace(out)
        except OSError as error:
            with suppress(OSError):
                made.unlink()
            raise CommandError(f"{out} cannot be written: {error.strerror}.") from error

    def _progress(self) -> Any:
        if not sys.stderr.isatty():
            return None

        def show(share: float) -> None:
            self.stderr.write(f"\r{share:4.0%}", ending="\n" if share >= 1 else "")

        return show

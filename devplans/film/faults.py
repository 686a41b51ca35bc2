"""What can be wrong with a film, in words for the person who uploaded it.

The texts are English and marked for translation; who shows them passes them through gettext.
"""


def gettext_noop(text: str) -> str:
    """Mark `text` for the catalogue of translations, which is read where it is shown."""
    return text


EMPTY = gettext_noop("This file is empty. Choose the film again.")
WRONG_TYPE = gettext_noop("This is not a film we can read. Use an MP4, MOV or WebM file.")
UNREADABLE = gettext_noop(
    "This film cannot be read. Play it on your own device; if it plays there, export it as MP4."
)
NO_PICTURE = gettext_noop("This file has no moving picture in it. Use an MP4, MOV or WebM film.")
TOO_LARGE = gettext_noop("The picture of this film is too large. Export it at 4K or smaller.")
TOO_SHORT = gettext_noop("Less than a second of this film can be read.")
TOO_LONG = gettext_noop("This film says it is longer than 24 hours. Cut it into shorter ones.")
TOO_SLOW = gettext_noop(
    "This film took too long to read. Export it again as MP4 and try once more."
)
NO_ROOM = gettext_noop("There is no room left for films. Ask the person who runs the portal.")
STOPPED = gettext_noop("Preparing this film was stopped.")
CRASHED = gettext_noop("This film could not be prepared. Export it again as MP4 and try once more.")
NOT_SOUND = gettext_noop("This recording cannot be read.")
NO_VOICE = gettext_noop("There is no sound in that stretch of the recording.")

OUT_OF_MEMORY = gettext_noop(
    "The computer ran out of memory while preparing this film. The film is kept, and tried again "
    "in ten minutes. If this stays, ask the person who runs the portal."
)


class MediaError(Exception):
    """A job on a film ended without a result; `reason` is fit to be shown."""

    def __init__(self, reason: str, detail: str = "") -> None:
        super().__init__(f"{reason} [{detail}]" if detail else reason)
        self.reason = reason
        self.detail = detail


class NotAFilm(MediaError):
    """The file itself is at fault: trying again will not help."""


class OutOfMemory(MediaError):
    """The machine had no memory left for the job: the file need not be at fault."""


def ends_early_text(readable_ms: int) -> str:
    """The `problem` of a film whose file stops before its announced end."""
    minutes, seconds = divmod(readable_ms // 1000, 60)
    return f"The file ends early: it can be read up to {minutes}:{seconds:02d}."


def in_file_text(number: int, problem: str) -> str:
    """The `problem` of one of the files that make a film; they are counted from 1."""
    return f"File {number}: {problem}"

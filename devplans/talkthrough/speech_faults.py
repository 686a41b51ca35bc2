"""Why no words came of a file, in words for the person who sent it.

The texts are English and marked for translation; who shows them passes them through gettext.
"""

from devplans.film.faults import gettext_noop

NOT_HERE = gettext_noop(
    "This server cannot write speech down: the package moonshine-voice is not there for its "
    "platform. Add a transcript instead (WebVTT, SRT, or lines that begin with a time)."
)
NO_MODEL = gettext_noop(
    "SPEECH_MODEL names a folder without a speech model (there is no tokenizer.bin in it). Correct "
    "it, or leave it empty for the model that comes with the portal."
)
EMPTY = gettext_noop("This file is empty. Choose it again.")
NO_SOUND = gettext_noop("There is no sound in this file. Choose one with a voice in it.")
BROKEN = gettext_noop(
    "The sound of this file cannot be read. If it plays on your device, save it as WAV or MP3 and "
    "try again; or use a transcript."
)
TOO_LONG = gettext_noop("This sound is longer than four hours. Cut it into shorter parts.")
TOO_SLOW = gettext_noop(
    "This sound took too long to read. Save it as WAV or MP3 and try again, or in shorter parts."
)
NO_MEMORY = gettext_noop(
    "The computer ran out of memory while writing the speech down. Try again later; if this stays, "
    "ask the person who runs the portal."
)
CRASHED = gettext_noop(
    "Writing the speech down broke off. Try again; if this stays, use a transcript."
)


class NoSpeech(Exception):
    """Why no words came of it; `reason` is fit to be shown. is_final: the file itself is at fault,
    or this server: trying again will not help."""

    def __init__(self, reason: str, detail: str = "", *, is_final: bool = True) -> None:
        super().__init__(f"{reason} [{detail}]" if detail else reason)
        self.reason = reason
        self.detail = detail
        self.is_final = is_final


class Stopped(Exception):
    """Whoever asked for it wanted no more."""

"""A transcript that was made elsewhere: chosen, looked at, and kept as a talk-through."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.film.lookups import coached_film
from devplans.film.models import Film
from devplans.talkthrough import captions, offsets
from devplans.talkthrough.captions import Transcript
from devplans.talkthrough.forms import TranscriptForm
from devplans.talkthrough.services import transcripts

# A transcript of four hours, with the time of each word, takes some three.
MOST_BYTES = 6 * 1024 * 1024
SHOWN = 8


def upload_page(
    request: HttpRequest, film: Film, form: TranscriptForm, read: Transcript | None = None
) -> HttpResponse:
    found = {"film": film, "form": form, "faults": read.faults if read else ()}
    status = 422 if form.is_bound else 200
    return render(request, "talkthrough/transcript.html", found, status=status)


def reading_of(form: TranscriptForm) -> tuple[bytes, Transcript | None]:
    """The content and what is read of it; None where it is too large."""
    content = form.content(MOST_BYTES)
    if len(content) > MOST_BYTES:
        form.add_error(None, _("A transcript may have 6 MB. This one is larger: cut it in parts."))
        return b"", None
    read = captions.read(content)
    if not read.cues and all(fault.line for fault in read.faults):
        form.add_error(None, _("No words with times are found in it."))
    return content, read


@require_http_methods(["GET", "POST"])
def transcript(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Choose a transcript; answers with what is read of it. Nothing is written."""
    film = coached_film(request, film_id)
    if request.method == "GET":
        return upload_page(request, film, TranscriptForm())
    form = TranscriptForm(request.POST, request.FILES)
    if not form.is_valid():
        return upload_page(request, film, form)
    content, read = reading_of(form)
    if read is None or not read.cues:
        return upload_page(request, film, form, read)
    return preview(request, film, form, content, read)


def preview(
    request: HttpRequest, film: Film, form: TranscriptForm, content: bytes, read: Transcript
) -> HttpResponse:
    offset_ms = form.cleaned_data["offset"]
    inside = offsets.inside(read.cues, film.duration_ms, offset_ms)
    refused = "" if inside else _("All of it lies outside of the film: look at its 0:00.")
    found = {
        "film": film,
        "read": read,
        "inside": inside,
        "outside": len(read.cues) - inside,
        "shown": [(cue.start_ms + offset_ms, cue.text) for cue in read.cues[:SHOWN]],
        "text": content.decode("utf-8", errors="replace"),
        "name": form.file_name,
        "offset": offsets.told(offset_ms),
        "refused": refused,
        "faults": [{"line": fault.line, "why": fault.why} for fault in read.faults],
    }
    status = 422 if refused else 200
    return render(request, "talkthrough/transcript_preview.html", found, status=status)


@require_POST
def transcript_accept(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Keep what was shown and turn it into suggestions, a large one in the background."""
    film = coached_film(request, film_id)
    form = TranscriptForm(request.POST)
    if not form.is_valid():
        return upload_page(request, film, form)
    if "again" in request.POST:
        content, read = reading_of(form)
        if read is not None and read.cues:
            return preview(request, film, form, content, read)
        return upload_page(request, film, form, read)
    _content, read = reading_of(form)
    if read is None or not read.cues:
        return upload_page(request, film, form, read)
    try:
        talk = transcripts.add_transcript(
            actor=request.user,
            film=film,
            transcript=read,
            offset_ms=form.cleaned_data["offset"],
            file_name=form.file_name,
        )
    except DomainError as error:
        form.add_error(error.field, str(error))
        return upload_page(request, film, form, read)
    transcripts.begin(talk=talk)
    return redirect("talkthrough:correct", talk.pk)

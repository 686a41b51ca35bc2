from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from devplans.feedback.views.comments import change_comment, own_comment
from devplans.feedback.voices import keeping, services
from devplans.film.serving import serve_file


@require_safe
def comment_voice(request: HttpRequest, comment_id: UUID) -> HttpResponseBase:
    """What goes along with a comment, for whoever may change it."""
    voice = keeping.voice_of(own_comment(request, comment_id))
    if voice is None:
        raise Http404
    return serve_file(
        request,
        voice.sound_key,
        content_type="audio/mp4",
        etag=voice.sound_key.rsplit("/", 1)[-1],
        filename="voice.m4a",
    )


@require_POST
def comment_voice_drop(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    words = _("Your voice stays here: only the words and the film go along.")
    return change_comment(request, comment_id, services.drop_voice, words)

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_htmx.http import trigger_client_event

from devplans.core.errors import DomainError
from devplans.feedback import services
from devplans.feedback.views.comments import change_comment
from devplans.film.lookups import coached_film


@require_POST
def film_hand_over(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Hand over all drafts of a film."""
    film = coached_film(request, film_id)
    try:
        services.hand_over_film(actor=request.user, film=film)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        if request.htmx:
            return trigger_client_event(HttpResponse(status=204), "film:comments", {})
        messages.success(request, _("Handed over. You can take them back until they are sent."))
    return redirect("film:detail", film.pk)


@require_POST
def comment_hand_over(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    words = _("Handed over. You can take it back until it is sent.")
    return change_comment(request, comment_id, services.hand_over, words)


@require_POST
def comment_return(request: HttpRequest, comment_id: UUID) -> HttpResponse:
    words = _("It is its author's draft again.")
    return change_comment(request, comment_id, services.return_draft, words)

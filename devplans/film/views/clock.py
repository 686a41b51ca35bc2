"""What the film page's script sends about the game clock, as JSON."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.film import marks, services
from devplans.film.lookups import coached_film
from devplans.film.mark_forms import ClockMarkForm, PeriodsForm
from devplans.film.views.possessions import bad_form, refused, sent_form


@require_http_methods(["PUT", "DELETE"])
def clock_mark(request: HttpRequest, film_id: UUID, mark_id: UUID) -> HttpResponse:
    """Marks, changes or deletes one; sent twice it does so once."""
    film = coached_film(request, film_id)
    which: dict[str, Any] = {"actor": request.user, "film": film, "mark_id": mark_id}
    if request.method == "DELETE":
        services.delete_clock_mark(**which)
        return JsonResponse({"deleted": str(mark_id)})
    form = sent_form(request, ClockMarkForm)
    if not form.is_valid():
        return bad_form(form)
    try:
        row = services.put_clock_mark(**which, **form.cleaned_data)
    except DomainError as error:
        return refused(error)
    return JsonResponse({"mark": marks.mark_facts(row)})


@require_POST
def periods(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """The game's own periods; three empty values for the club's rule set."""
    film = coached_film(request, film_id)
    form = sent_form(request, PeriodsForm)
    if not form.is_valid():
        return bad_form(form)
    try:
        film = services.set_periods(actor=request.user, film=film, **form.cleaned_data)
    except DomainError as error:
        return refused(error)
    return JsonResponse({"rules": marks.game_clock(film).facts})

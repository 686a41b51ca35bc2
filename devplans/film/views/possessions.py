"""What the film page's script asks for and sends, as JSON."""

import json
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.forms import Form
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_GET, require_http_methods

from devplans.core.errors import DomainError
from devplans.film import marks, services
from devplans.film.lookups import coached_film, seen_film
from devplans.film.mark_forms import PossessionForm
from devplans.film.models import Film


def refused(error: DomainError) -> JsonResponse:
    told = {"detail": str(error), "code": error.code, "field": error.field}
    return JsonResponse(told, status=400)


def sent_form(request: HttpRequest, kind: type[Form]) -> Form:
    """The JSON body as a form; a body that is no JSON object is an empty one."""
    try:
        sent = json.loads(request.body)
    except ValueError:
        sent = {}
    return kind(sent if isinstance(sent, dict) else {})


def bad_form(form: Form) -> JsonResponse:
    return JsonResponse(form.errors, status=400)


@require_GET
def film_marks(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """All possessions and clock marks, for coaches and directors."""
    film = seen_film(request, film_id)
    if not Film.objects.for_staff(request.user).contains(film):
        raise PermissionDenied
    return JsonResponse(marks.film_marks(request.user, film))


@require_http_methods(["PUT", "DELETE"])
def possession(request: HttpRequest, film_id: UUID, possession_id: UUID) -> HttpResponse:
    """Marks, changes or deletes one; sent twice it does so once."""
    film = coached_film(request, film_id)
    which: dict[str, Any] = {"actor": request.user, "film": film, "possession_id": possession_id}
    if request.method == "DELETE":
        services.delete_possession(**which)
        return JsonResponse({"deleted": str(possession_id)})
    form = sent_form(request, PossessionForm)
    if not form.is_valid():
        return bad_form(form)
    try:
        changed = services.put_possession(**which, **form.cleaned_data)
    except DomainError as error:
        return refused(error)
    return JsonResponse({"possessions": [marks.possession_facts(row) for row in changed]})

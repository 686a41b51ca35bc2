"""The film that an address names, for whoever sees it or coaches its squad."""

from uuid import UUID

from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from devplans.film.models import Film
from devplans.people import access
from devplans.people.access import Action


def seen_film(request: HttpRequest, film_id: UUID) -> Film:
    """Raises Http404 for who may not see it."""
    films = Film.objects.visible_to(request.user).select_related("squad__season__club", "event")
    return get_object_or_404(films, pk=film_id)


def coached_film(request: HttpRequest, film_id: UUID) -> Film:
    """For its squad's coaches. Raises Http404, and PermissionDenied for others who see it."""
    film = seen_film(request, film_id)
    access.require(request.user, Action.COACH_SQUAD, film.squad)
    return film

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.film import intake, services
from devplans.film.forms import AddressForm
from devplans.film.lookups import seen_film
from devplans.film.views.films import coaches


@require_http_methods(["GET", "POST"])
def film_fetch(request: HttpRequest) -> HttpResponse:
    if request.method == "GET":
        if not coaches(request):
            raise PermissionDenied
        chosen = {"squad": request.GET.get("squad"), "event": request.GET.get("event")}
        return fetch_page(request, AddressForm(user=request.user, initial=chosen))
    form = AddressForm(request.POST, user=request.user)
    if form.is_valid():
        try:
            film = services.fetch_film(actor=request.user, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            return redirect("film:detail", film.pk)
    elif not coaches(request):
        raise PermissionDenied
    return fetch_page(request, form, status=422)


def fetch_page(request: HttpRequest, form: AddressForm, status: int = 200) -> HttpResponse:
    found = {
        "form": form,
        "max_words": intake.in_words(settings.FILM_MAX_BYTES),
        "is_on": settings.FILM_BY_ADDRESS,
    }
    return render(request, "film/film_fetch.html", found, status=status)


@require_POST
def fetch_stop(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    try:
        services.stop_fetch(actor=request.user, film=film)
    except DomainError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("Stopped. Nothing of the film was kept."))
    return redirect("film:detail", film.pk)


@require_POST
def fetch_again(request: HttpRequest, film_id: UUID) -> HttpResponse:
    film = seen_film(request, film_id)
    try:
        services.fetch_again(actor=request.user, film=film)
    except DomainError as error:
        messages.error(request, str(error))
    return redirect("film:detail", film.pk)

"""Which coach works through which part of a film, as a fragment of its page."""

from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from devplans.core.errors import DomainError
from devplans.film import services
from devplans.film.lookups import seen_film
from devplans.film.marks import rules_of
from devplans.film.models import Film, FilmPart
from devplans.people import access, lookups
from devplans.people.access import Action

WHOLE = "whole"


class PartsForm(forms.Form):
    """What the coach himself takes, and who takes the rest."""

    mine = forms.ChoiceField(
        label=gettext_lazy("I take"),
        choices=[(WHOLE, gettext_lazy("the whole film")), *FilmPart.Part.choices],
        widget=forms.RadioSelect,
    )
    other = forms.ChoiceField(label=gettext_lazy("The rest goes to"), required=False)

    def __init__(self, *args: Any, others: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.others = {str(one.pk): one for one in others}
        names = [(key, one.full_name) for key, one in self.others.items()]
        self.fields["other"].choices = names  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        chosen = self.others.get(found.get("other") or next(iter(self.others), ""))
        if found.get("mine") != WHOLE and chosen is None and not self.errors:
            raise forms.ValidationError(_("This squad has no other coach to share the film with."))
        return found | {"other": chosen}


@require_http_methods(["GET", "POST"])
def parts(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """Who takes what; a coach of the squad may change it."""
    film = seen_film(request, film_id)
    if not Film.objects.for_staff(request.user).contains(film):
        raise PermissionDenied
    others = [one for one in lookups.coaches_of(film.squad) if one.pk != request.user.pk]
    if request.method == "GET":
        return fragment(request, film, others)
    form = PartsForm(request.POST, others=others)
    if not form.is_valid():
        access.require(request.user, Action.COACH_SQUAD, film.squad)
        return fragment(request, film, others, form=form, status=422)
    mine, other = form.cleaned_data["mine"], form.cleaned_data["other"]
    try:
        if mine == WHOLE:
            services.join_film(actor=request.user, film=film)
        else:
            services.split_film(actor=request.user, film=film, part=mine, other=other)
    except DomainError as error:
        form.add_error(error.field, str(error))
        return fragment(request, film, others, form=form, status=422)
    return fragment(request, film, others) if request.htmx else redirect("film:detail", film.pk)


def fragment(
    request: HttpRequest,
    film: Film,
    others: list[Any],
    *,
    form: PartsForm | None = None,
    status: int = 200,
) -> HttpResponse:
    rows = list(FilmPart.objects.visible_to(request.user).of_film(film).select_related("coach"))
    rows.sort(key=lambda row: row.coach_id != request.user.pk)
    own = next((row for row in rows if row.coach_id == request.user.pk), None)
    partner = next((row.coach_id for row in rows if row is not own), None)
    initial = {"mine": own.part if own else WHOLE, "other": str(partner or "")}
    found = {
        "film": film,
        "parts": rows,
        "own": own,
        "periods": ",".join(str(one) for one in own.periods(rules_of(film))) if own else "",
        "form": form or PartsForm(others=others, initial=initial),
        "others": others,
        "may_split": bool(others) and access.allows(request.user, Action.COACH_SQUAD, film.squad),
    }
    return render(request, "film/_parts.html", found, status=status)

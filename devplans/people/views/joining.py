"""The pages behind links: they are open, so they say no more than the link's holder may know."""

from typing import Any
from uuid import UUID

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.people import links, lookups, services
from devplans.people.forms import ConsentFields, FounderForm, JoinForm, SetUpForm
from devplans.people.models import Invitation
from devplans.people.services import NewAccount
from devplans.people.views.steps import attempt, posted, told

GONE = {"invitation.used", "invitation.revoked", "invitation.expired"}


def _closed_page(request: HttpRequest, error: DomainError) -> HttpResponse:
    """Says why the link does not work and whom to ask; 410 where it once did, else 404."""
    invitation = getattr(error, "invitation", None)
    context = {"reason": str(error), "invitation": invitation}
    if invitation is not None and invitation.accepted_by_id == request.user.pk:
        context["is_mine"] = request.user.is_authenticated
    status = 410 if error.code in GONE else 404
    return render(request, "people/link_closed.html", context, status=status)


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def join(request: HttpRequest, token: str) -> HttpResponse:
    try:
        invitation = links.open_invitation(token)
    except DomainError as error:
        return _closed_page(request, error)
    form_class = ConsentFields if request.user.is_authenticated else JoinForm
    form = form_class(posted(request), initial=_names(invitation))
    if request.method == "POST" and form.is_valid():
        user = _accept(request, token, form)
        if user:
            return redirect("people:welcome")
    context = {"invitation": invitation, "form": form, **_what_is_asked(request, invitation)}
    status = 422 if form.is_bound else 200
    return render(request, "people/join.html", context, status=status)


def _names(invitation: Invitation) -> dict[str, str]:
    first, _space, last = invitation.name.partition(" ")
    return {"first_name": first, "last_name": last}


def _what_is_asked(request: HttpRequest, invitation: Invitation) -> dict[str, Any]:
    player = invitation.player
    is_guardian = invitation.kind == Invitation.Kind.GUARDIAN
    is_adult = invitation.kind == Invitation.Kind.PLAYER and not player.is_minor()
    return {
        "is_guardian": is_guardian,
        "asks_consent": is_guardian or is_adult,
        "is_minor_player": invitation.kind == Invitation.Kind.PLAYER and player.is_minor(),
        "is_other_person": request.user.is_authenticated
        and (request.user.email or "").lower() != invitation.email,
        "second_adults": lookups.second_adults(invitation.club),
    }


def _accept(request: HttpRequest, token: str, form: Any) -> Any:
    answers = {"consents": form.consents(), "relationship": form.cleaned_data["relationship"]}
    if request.user.is_authenticated:
        return attempt(form, services.accept_invitation, actor=request.user, token=token, **answers)
    fields = {name: form.cleaned_data[name] for name in ("first_name", "last_name", "password")}
    user = attempt(form, services.join_with_new_account, token=token, **fields, **answers)
    if user:
        login(request, user)
    return user


def welcome(request: HttpRequest) -> HttpResponse:
    """What a person who has just joined may expect; also where nothing can arrive yet."""
    return render(request, "people/welcome.html", {"own": lookups.waiting_for(request.user)})


@login_not_required
@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest, token: str) -> HttpResponse:
    try:
        links.open_invitation(token, kinds=(Invitation.Kind.FOUNDER,))
    except DomainError as error:
        return _closed_page(request, error)
    form_class = SetUpForm if request.user.is_authenticated else FounderForm
    form = form_class(posted(request))
    if form.is_valid():
        made = attempt(form, services.set_up_club, **_set_up_arguments(request, token, form))
        if made:
            if not request.user.is_authenticated:
                login(request, made[1])
            return redirect("people:squads")
    status = 422 if form.is_bound else 200
    return render(request, "people/set_up.html", {"form": form}, status=status)


def _set_up_arguments(request: HttpRequest, token: str, form: Any) -> dict[str, Any]:
    given = form.cleaned_data
    club = {name: given[name] for name in ("name", "zone", "rule_set", "digest_day", "digest_hour")}
    season = {"name": given["season_name"]}
    season |= {name: given[name] for name in ("starts_on", "ends_on")}
    account = None
    if not request.user.is_authenticated:
        parts = ("email", "first_name", "last_name", "password")
        account = NewAccount(**{name: given[name] for name in parts})
    return {
        "actor": request.user if request.user.is_authenticated else None,
        "token": token,
        "club": club,
        "season": season,
        "squad_name": given["squad_name"],
        "account": account,
    }


def _back(invitation: Invitation) -> HttpResponse:
    if invitation.player_id:
        return redirect("people:player", invitation.player_id)
    if invitation.squad_id:
        return redirect("people:squad", invitation.squad_id)
    return redirect("people:staff")


@require_POST
def invitation_resend(request: HttpRequest, invitation_id: UUID) -> HttpResponse:
    rows = Invitation.objects.visible_to(request.user)
    invitation = get_object_or_404(rows, pk=invitation_id)
    told(
        request,
        services.resend_invitation,
        _("The invitation is on its way again. The link sent before does not work any more."),
        actor=request.user,
        invitation=invitation,
    )
    return _back(invitation)


@require_POST
def invitation_revoke(request: HttpRequest, invitation_id: UUID) -> HttpResponse:
    rows = Invitation.objects.visible_to(request.user)
    invitation = get_object_or_404(rows, pk=invitation_id)
    told(
        request,
        services.revoke_invitation,
        _("The invitation is taken back. Its link does not work any more."),
        actor=request.user,
        invitation=invitation,
    )
    return _back(invitation)

"""Showing codes, the list of a player's phones, and what the phone itself sees.

The pages that a phone opens are open: they say no more than the holder of the code may know.
"""

from typing import Any
from uuid import UUID

import segno
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import reswap, retarget

from devplans.core.errors import DomainError
from devplans.people import access, codes, guesses, handset, handsets, phone_rules, services
from devplans.people.access import Action
from devplans.people.models import Phone, PhoneCode
from devplans.people.services.phones import CODE_LIFE
from devplans.people.views.players import player_for
from devplans.people.views.steps import told

GONE = {"code.used", "code.revoked", "code.expired"}


@require_GET
def phones(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id, Action.KEEP_PHONES)
    context = {
        "player": player,
        "phones": Phone.objects.standing().visible_to(request.user).of(player),
        "may_show": access.allows(request.user, Action.SHOW_CODE, player),
        "is_own": player.user_id == request.user.pk,
    }
    return render(request, "people/phones.html", context)


@require_POST
def code_show(request: HttpRequest, player_id: UUID) -> HttpResponse:
    """The code is on the page that answers, and nowhere else: loading it again makes a new one."""
    player = player_for(request, player_id, Action.SHOW_CODE)
    try:
        code, secret = services.show_code(actor=request.user, player=player)
    except DomainError as error:
        messages.error(request, str(error))
        return redirect("people:phones", player.pk)
    address = settings.PUBLIC_URL + reverse("people:phone-open", args=[secret])
    context = {
        "player": player,
        "code": code,
        "state": "open",
        "minutes": int(CODE_LIFE.total_seconds() // 60),
        "groups": codes.grouped(secret),
        "picture": segno.make(address, error="m", micro=False).svg_data_uri(scale=4, light="#fff"),
        "site": settings.PUBLIC_URL.partition("://")[2],
    }
    return render(request, "people/phone_code.html", context)


@require_GET
def code_state(request: HttpRequest, code_id: UUID) -> HttpResponse:
    """What has become of a code; the page that shows it asks every few seconds."""
    rows = PhoneCode.objects.visible_to(request.user).select_related(
        "phone__player__club", "player"
    )
    code = get_object_or_404(rows, pk=code_id)
    state = "joined" if code.phone else "open" if code.is_open else "over"
    context = {"code": code, "player": code.player, "state": state}
    answer = render(request, "people/_phone_code_state.html", context)
    # What does not work any more is not left on the screen.
    return answer if state == "open" else retarget(reswap(answer, "innerHTML"), ".phone-code")


@require_POST
def phone_end(request: HttpRequest, phone_id: UUID) -> HttpResponse:
    rows = Phone.objects.visible_to(request.user).select_related("player")
    phone = get_object_or_404(rows, pk=phone_id)
    told(
        request,
        services.end_phone,
        _("%(phone)s is signed out.") % {"phone": phone.name},
        actor=request.user,
        phone=phone,
    )
    return redirect("people:phones", phone.player_id)


@require_POST
def phones_end(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id, Action.KEEP_PHONES)
    success = _("All phones of %(name)s are signed out.") % {"name": player.first_name}
    told(request, services.end_phones, success, actor=request.user, player=player)
    return redirect("people:phones", player.pk)


def _looked_up(request: HttpRequest, secret: str) -> PhoneCode | HttpResponse:
    """The code, or the page that says why it does not sign in."""
    if not guesses.may_try(request):
        message = _("Those were many wrong codes. Wait five minutes, then ask for a new one.")
        return _closed_page(request, message, status=429)
    try:
        return phone_rules.open_code(secret)
    except DomainError as error:
        return _refused(request, error)


def _refused(request: HttpRequest, error: DomainError) -> HttpResponse:
    if error.code == "code.unknown":
        guesses.count_wrong(request)
    return _closed_page(request, str(error), status=410 if error.code in GONE else 404)


def _closed_page(request: HttpRequest, reason: str, status: int) -> HttpResponse:
    return render(request, "people/phone_closed.html", {"reason": reason}, status=status)


@login_not_required
@sensitive_post_parameters("code")
@require_http_methods(["GET", "POST"])
def phone_enter(request: HttpRequest) -> HttpResponse:
    """A code typed by hand, for a phone without a camera or a portal on its home screen."""
    typed = request.POST.get("code", "")
    if request.method == "GET" or not typed.strip():
        return render(request, "people/phone_enter.html")
    try:
        codes.tidy(typed)
    except ValueError:
        reason = _("There is a slip in the code. Compare it sign by sign with the screen.")
        context = {"reason": reason, "typed": typed[:60]}
        return render(request, "people/phone_enter.html", context, status=422)
    return _confirm_page(request, typed)


@login_not_required
@require_GET
def phone_open(request: HttpRequest, secret: str) -> HttpResponse:
    """Where the picture leads: it says whose phone this will be, and signs nobody in."""
    return _confirm_page(request, secret)


def _confirm_page(request: HttpRequest, secret: str) -> HttpResponse:
    code = _looked_up(request, secret)
    if isinstance(code, HttpResponse):
        return code
    here = handset.places(request)
    player = code.player
    leaving = [
        one.player
        for one in here
        if one.player_id != player.pk and not phone_rules.are_family(one.player, player)
    ]
    context: dict[str, Any] = {
        "code": code,
        "secret": codes.tidy(secret),
        "player": player,
        "until": Phone(player=player, expires_at=phone_rules.ends_at(player)).last_day,
        "leaving": [one.first_name for one in leaving],
        "staying": [
            one.player.first_name
            for one in here
            if one.player_id != player.pk and one.player not in leaving
        ],
    }
    if request.user.is_authenticated and request.phone is None:
        context["account"] = request.user
    return render(request, "people/phone_confirm.html", context)


@login_not_required
@sensitive_post_parameters("code")
@require_POST
def phone_join(request: HttpRequest) -> HttpResponse:
    """The one tap that signs in."""
    secret = request.POST.get("code", "")
    code = _looked_up(request, secret)
    if isinstance(code, HttpResponse):
        return code
    name = handsets.name_of(request.headers.get("User-Agent", ""))
    here = handset.places(request)
    try:
        joined = services.join_phone(secret=secret, name=name, beside=here)
    except DomainError as error:
        return _refused(request, error)
    handset.take_in_hand(request, joined.phone, joined.staying)
    words = {"name": joined.phone.player.first_name}
    messages.success(request, _("This phone is signed in as %(name)s.") % words)
    return redirect("home:home")


@login_not_required
@require_POST
def phone_switch(request: HttpRequest) -> HttpResponse:
    """To another player whose place is on this phone."""
    here = handset.places(request)
    wanted = next((one for one in here if str(one.pk) == request.POST.get("phone")), None)
    if wanted is None:
        raise Http404
    handset.take_in_hand(request, wanted, here)
    return redirect("home:home")


@require_http_methods(["GET", "POST"])
def phone_leave(request: HttpRequest) -> HttpResponse:
    """Sign this player out of this phone, after a word on what that means."""
    phone = request.phone
    if phone is None:
        raise Http404
    if request.method == "GET":
        return render(request, "people/phone_leave.html", {"phone": phone})
    services.end_phone(actor=request.user, phone=phone)
    handset.put_down(request, handset.others(request))
    words = {"name": phone.player.first_name}
    messages.success(request, _("%(name)s is signed out of this phone.") % words)
    return redirect("account_login")

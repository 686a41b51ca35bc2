from collections.abc import Callable
from ipaddress import ip_address
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.people import handset, lookups
from devplans.people.access import Role
from devplans.people.models import Club

Handler = Callable[[HttpRequest], HttpResponse]


def headers(get_response: Handler) -> Handler:
    """Headers that every answer carries; personal pages are never stored."""

    def handle(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault(
            "Permissions-Policy", "camera=(), geolocation=(), microphone=(self)"
        )
        if not request.path.startswith(settings.STATIC_URL):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return handle


PROXY_HEADERS = ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED", "HTTP_X_REAL_IP", "HTTP_VIA")


def is_this_machine(request: HttpRequest) -> bool:
    """Does the request come from this very machine, through no proxy?"""
    if any(name in request.META for name in PROXY_HEADERS):
        return False
    try:
        return ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


def phones(get_response: Handler) -> Handler:
    """A child's phone is signed in by its row. It cannot touch how the account is signed in
    elsewhere: a password set here would outlive the phone."""

    def handle(request: HttpRequest) -> HttpResponse:
        handset.recognise(request)
        if request.phone is not None and request.path.startswith("/accounts/"):
            leaves = request.path == reverse("account_logout")
            return redirect("people:phone-leave" if leaves else "people:me")
        return get_response(request)

    return handle


def fragments(get_response: Handler) -> Handler:
    """Who is signed out gets no sign-in page into the middle of another: a script tells it."""

    def handle(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        to = response.headers.get("Location", "")
        if request.htmx and not request.htmx.boosted and to.startswith(reverse("account_login")):
            return HttpResponse(status=403, headers={"X-Signed-Out": "1"})
        return response

    return handle


def demo_only_here(get_response: Handler) -> Handler:
    """The demo accounts' password is public, so they work from this machine only."""

    def handle(request: HttpRequest) -> HttpResponse:
        if getattr(request.user, "is_demo", False) and not is_this_machine(request):
            logout(request)
            return render(request, "account/demo_only_here.html", status=403)
        return get_response(request)

    return handle


def second_factor(get_response: Handler) -> Handler:
    """Coaches and directors need a second factor where the settings ask for it."""

    def handle(request: HttpRequest) -> HttpResponse:
        if settings.SECOND_FACTOR_REQUIRED and request.user.is_authenticated:
            free = request.path.startswith(WITHOUT_SECOND_FACTOR)
            if not free and _lacks_second_factor(request):
                if request.path.startswith("/api/"):
                    return JsonResponse({"detail": _("Set up the second step first.")}, status=403)
                return redirect("mfa_activate_totp")
        return get_response(request)

    return handle


# What is needed to sign in and to get in; links to join show nothing of a club's people.
WITHOUT_SECOND_FACTOR = (
    "/accounts/",
    "/static/",
    "/healthz",
    "/sw.js",
    "/manifest.webmanifest",
    "/icons/",
    "/offline/",
    "/people/join/",
    "/people/phone/",
    "/people/set-up/",
)


def _lacks_second_factor(request: HttpRequest) -> bool:
    staff = request.user.memberships.current().exclude(role=Role.WELFARE)
    return staff.exists() and not lookups.has_second_factor(request.user)


def club_time(get_response: Handler) -> Handler:
    """Times on pages are the club's."""

    def handle(request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            club = Club.objects.visible_to(request.user).order_by("created_at").first()
            request.club = club
            with timezone.override(ZoneInfo(club.zone) if club else ZoneInfo("UTC")):
                return get_response(request)
        return get_response(request)

    return handle

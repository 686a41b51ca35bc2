from collections.abc import Callable
from ipaddress import ip_address
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from devplans.people.access import Role
from devplans.people.models import Club

Handler = Callable[[HttpRequest], HttpResponse]


def headers(get_response: Handler) -> Handler:
    """Headers that every answer carries; personal pages are never stored."""

    def handle(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
        if not request.path.startswith(settings.STATIC_URL):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return handle


def is_this_machine(request: HttpRequest) -> bool:
    """Does the request come from this very machine, through no proxy?"""
    if "HTTP_X_FORWARDED_FOR" in request.META:
        return False
    try:
        return ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False


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
            free = request.path.startswith(("/accounts/", "/static/", "/healthz"))
            if not free and _is_staff(request) and not _has_second_factor(request):
                return redirect("mfa_activate_totp")
        return get_response(request)

    return handle


def _is_staff(request: HttpRequest) -> bool:
    return request.user.memberships.current().exclude(role=Role.WELFARE).exists()


def _has_second_factor(request: HttpRequest) -> bool:
    return request.user.authenticator_set.exists()


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

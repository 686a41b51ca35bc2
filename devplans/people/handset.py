"""What the session of a phone remembers: whose places are on it, and who has it in his hand.

Such a session signs nobody in by itself. It names rows of `Phone`; each request asks whether the
row still stands, and only then has a user. So ending a row ends the session at the next request,
and a change of password is no matter of it.
"""

from typing import Any

from django.contrib import messages
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.middleware.csrf import rotate_token
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.core.days import today
from devplans.people.models import Phone

PLACES = "phones"
IN_HAND = "phone"


def recognise(request: HttpRequest) -> None:
    """Sets `request.phone`, and `request.user` with it, where the row in the session stands."""
    request.phone = None
    session = request.session
    wanted = session.get(IN_HAND)
    # Who has signed in with an account is never anybody else.
    if wanted is None or SESSION_KEY in session:
        return
    rows = Phone.objects.standing().select_related("user", "player__club")
    phone = rows.filter(pk=wanted).first()
    if phone is None:
        _let_go(request, wanted)
        return
    if phone.seen_on != today():
        Phone.objects.filter(pk=phone.pk).update(seen_on=today())
    _act_as(request, phone)


def _let_go(request: HttpRequest, wanted: str) -> None:
    """The row does not stand any more: nobody has the phone in his hand, others' places stay."""
    del request.session[IN_HAND]
    request.session[PLACES] = [one for one in request.session.get(PLACES, []) if one != wanted]
    row = Phone.objects.filter(pk=wanted).select_related("player").first()
    words = {"name": row.player.first_name if row else ""}
    if row is None:
        said = _("This phone is signed out.")
    elif row.ended_at is None and row.expires_at <= timezone.now():
        said = _(
            "The season is over, so this phone is signed out. Ask a guardian or coach of %(name)s "
            "for a new code."
        )
    else:
        said = _(
            "This phone is not signed in as %(name)s any more. Ask a guardian or coach for a new "
            "code."
        )
    messages.warning(request, said % words)


def places(request: HttpRequest) -> list[Phone]:
    """The places on this phone that stand, the oldest first; none where an account is signed in."""
    known = request.session.get(PLACES, [])
    if not known or SESSION_KEY in request.session:
        return []
    rows = Phone.objects.standing().filter(pk__in=known)
    return list(rows.select_related("player__club", "user").order_by("created_at"))


def others(request: HttpRequest) -> list[Phone]:
    """The places that one can switch to; costs nothing where there is only one."""
    in_hand = request.session.get(IN_HAND)
    if set(request.session.get(PLACES, [])) <= {in_hand}:
        return []
    return [one for one in places(request) if str(one.pk) != in_hand]


def take_in_hand(request: HttpRequest, phone: Phone, staying: list[Phone]) -> None:
    """From now on this browser is signed in as the player of `phone`, in a session of a new key;
    nothing that the former one held is left but the places that stay."""
    kept = [one for one in staying if one.pk != phone.pk]
    request.session.flush()
    request.session[PLACES] = [str(one.pk) for one in [*kept, phone]]
    request.session[IN_HAND] = str(phone.pk)
    request.session.set_expiry(max(one.expires_at for one in [*kept, phone]))
    rotate_token(request)
    _act_as(request, phone)


def put_down(request: HttpRequest, staying: list[Phone]) -> None:
    """Signs this browser out; the places that stay can be taken up again."""
    request.session.flush()
    if staying:
        request.session[PLACES] = [str(one.pk) for one in staying]
        request.session.set_expiry(max(one.expires_at for one in staying))
    _act_as(request, None)


def _act_as(request: HttpRequest, phone: Phone | None) -> None:
    user: Any = phone.user if phone else AnonymousUser()
    request.phone = phone
    request.user = request._cached_user = user

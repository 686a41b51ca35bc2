from copy import copy
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.people import access, consent, lookups, roster, services
from devplans.people.access import Action
from devplans.people.forms import ConsentKindForm, InviteForm, PaperConsentForm, PlayerForm
from devplans.people.models import Guardianship, Invitation, Phone, Player
from devplans.people.views.steps import attempt, form_page, posted, told


def player_for(request: HttpRequest, player_id: UUID, action: Action = Action.READ) -> Player:
    """The player, if the person may do `action`: 404 where he is unseen, else 403."""
    players = Player.objects.visible_to(request.user).select_related("club", "user")
    player = get_object_or_404(players, pk=player_id)
    access.require(request.user, action, player)
    return player


@require_GET
def players(request: HttpRequest) -> HttpResponse:
    context = {
        "groups": roster.players_for(request.user),
        "unplaced": roster.without_squad(request.user),
    }
    return render(request, "people/players.html", context)


@require_GET
def player(request: HttpRequest, player_id: UUID) -> HttpResponse:
    return _player_page(request, player_for(request, player_id), PaperConsentForm())


def _player_page(
    request: HttpRequest, player: Player, form: PaperConsentForm, status: int = 200
) -> HttpResponse:
    user = request.user
    is_staff = access.allows(user, Action.READ_ROSTER, player)
    guardianships = player.guardianships.current().select_related("user").order_by("since")
    squads = lookups.squads_of(player)
    context = {
        "player": player,
        "squads": [(squad, lookups.numbers_in(squad).get(player.pk, "")) for squad in squads],
        "guardianships": guardianships,
        "consents": roster.consents_of(player),
        "invitations": roster.invitations_for_player(user, player),
        "is_staff": is_staff,
        "may_edit": access.allows(user, Action.KEEP_ROSTER, player),
        "may_invite": access.allows(user, Action.INVITE, player),
        "may_give": consent.may_give(user, player),
        "may_record": access.allows(user, Action.RECORD_CONSENT, player),
        "may_run": access.allows(user, Action.RUN_CLUB, player.club),
        "phone_count": Phone.objects.standing().of(player).count(),
        "may_show_code": access.allows(user, Action.SHOW_CODE, player),
        "second_adults": lookups.second_adults(player.club),
        "form": form,
    }
    return render(request, "people/player.html", context, status=status)


@require_http_methods(["GET", "POST"])
def player_edit(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id, Action.KEEP_ROSTER)
    # The form checks shapes on a copy: the service compares with what is stored.
    form = PlayerForm(posted(request), instance=copy(player))
    if form.is_valid() and attempt(
        form, services.change_player, actor=request.user, player=player, **form.cleaned_data
    ):
        return redirect("people:player", player.pk)
    return form_page(
        request,
        form,
        title=player.full_name,
        action=_("Save"),
        back=reverse("people:player", args=[player.pk]),
    )


def _invite(
    request: HttpRequest, player_id: UUID, kind: str, title: str, lead: str, name: str = ""
) -> HttpResponse:
    player = player_for(request, player_id, Action.INVITE)
    initial = {"email": player.email, "name": player.full_name} if name else {}
    form = InviteForm(posted(request), initial=initial)
    if form.is_valid() and attempt(
        form,
        services.invite,
        actor=request.user,
        kind=kind,
        player=player,
        **form.cleaned_data,
    ):
        return redirect("people:player", player.pk)
    return form_page(
        request,
        form,
        title=title % {"name": player.full_name},
        action=_("Send the invitation"),
        back=reverse("people:player", args=[player.pk]),
        lead=lead,
    )


@require_http_methods(["GET", "POST"])
def invite_guardian(request: HttpRequest, player_id: UUID) -> HttpResponse:
    return _invite(
        request,
        player_id,
        Invitation.Kind.GUARDIAN,
        _("Invite a guardian of %(name)s"),
        _("A guardian sees everything that coach and child write to each other."),
    )


@require_http_methods(["GET", "POST"])
def invite_player(request: HttpRequest, player_id: UUID) -> HttpResponse:
    return _invite(
        request,
        player_id,
        Invitation.Kind.PLAYER,
        _("Invite %(name)s"),
        _("For a child without an email address, invite a guardian instead."),
        name="player",
    )


@require_POST
def consent_give(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id, Action.GIVE_CONSENT)
    form = ConsentKindForm(request.POST)
    if form.is_valid():
        told(
            request,
            services.give_consent,
            _("Thank you. The consent holds for a year and can be withdrawn at any time."),
            actor=request.user,
            player=player,
            kind=form.cleaned_data["kind"],
        )
    return redirect("people:player", player.pk)


@require_POST
def consent_withdraw(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id)
    form = ConsentKindForm(request.POST)
    if form.is_valid():
        told(
            request,
            services.withdraw_consent,
            _("The consent is withdrawn, as of now."),
            actor=request.user,
            player=player,
            kind=form.cleaned_data["kind"],
        )
    return redirect("people:player", player.pk)


@require_POST
def consent_record(request: HttpRequest, player_id: UUID) -> HttpResponse:
    player = player_for(request, player_id, Action.RECORD_CONSENT)
    form = PaperConsentForm(request.POST)
    if form.is_valid() and attempt(
        form,
        services.record_paper_consent,
        actor=request.user,
        player=player,
        **form.cleaned_data,
    ):
        return redirect("people:player", player.pk)
    return _player_page(request, player, form, status=422)


@require_POST
def guardian_end(request: HttpRequest, guardianship_id: UUID) -> HttpResponse:
    rows = Guardianship.objects.visible_to(request.user).current()
    row = get_object_or_404(rows.select_related("player__club"), pk=guardianship_id)
    told(
        request,
        services.end_guardianship,
        _("The link between guardian and player has ended."),
        actor=request.user,
        guardianship=row,
    )
    return redirect("people:player", row.player_id)

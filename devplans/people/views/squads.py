from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from devplans.people import access, lookups, roster, services
from devplans.people.access import Action
from devplans.people.forms import (
    InviteForm,
    LeaveForm,
    NewPlayerForm,
    NumberForm,
    PlaceForm,
    SeasonForm,
    SquadForm,
)
from devplans.people.models import Club, Invitation, Player, Squad
from devplans.people.views.steps import attempt, club_to_run, form_page, posted


def squad_for(request: HttpRequest, squad_id: UUID, action: Action) -> Squad:
    """The squad, if the person may do `action` there: 404 where it is unseen, else 403."""
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = get_object_or_404(squads, pk=squad_id)
    access.require(request.user, action, squad)
    return squad


@require_GET
def squads(request: HttpRequest) -> HttpResponse:
    seasons = roster.seasons_for(request.user)
    clubs = Club.objects.allowing(request.user, Action.RUN_CLUB).order_by("created_at")
    staffed = Squad.objects.allowing(request.user, Action.READ_ROSTER)
    context = {
        "seasons": seasons,
        "clubs": [(club, roster.next_steps(club)) for club in clubs],
        "staffed": set(staffed.values_list("pk", flat=True)),
    }
    return render(request, "people/squads.html", context)


@require_http_methods(["GET", "POST"])
def season_add(request: HttpRequest) -> HttpResponse:
    club = club_to_run(request)
    form = SeasonForm(posted(request))
    if form.is_valid() and attempt(
        form, services.add_season, actor=request.user, club=club, **form.cleaned_data
    ):
        return redirect("people:squads")
    return form_page(
        request,
        form,
        title=_("New season"),
        action=_("Add the season"),
        back=reverse("people:squads"),
    )


@require_http_methods(["GET", "POST"])
def squad_add(request: HttpRequest) -> HttpResponse:
    club = club_to_run(request)
    form = SquadForm(posted(request), user=request.user, club=club)
    if form.is_valid():
        made = attempt(form, services.add_squad, actor=request.user, **form.cleaned_data)
        if made:
            return redirect("people:squad", made.pk)
    return form_page(
        request,
        form,
        title=_("New team") if club.says_team else _("New squad"),
        action=_("Add it"),
        back=reverse("people:squads"),
    )


@require_GET
def squad(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.READ_ROSTER)
    lines = roster.lines_of(squad)
    invited = roster.invitations_to_squad(request.user, squad)
    context = {
        "squad": squad,
        "lines": lines,
        "waiting": [line for line in lines if line.is_waiting],
        "coaches": lookups.coaches_of(squad),
        "invitations": invited,
        "may_keep": access.allows(request.user, Action.KEEP_ROSTER, squad),
        "may_run": access.allows(request.user, Action.RUN_CLUB, squad.season.club),
        "may_coach": access.allows(request.user, Action.COACH_SQUAD, squad),
    }
    return render(request, "people/squad.html", context)


@require_http_methods(["GET", "POST"])
def player_add(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.KEEP_ROSTER)
    form = NewPlayerForm(posted(request))
    if form.is_valid():
        made = attempt(
            form, services.add_player, actor=request.user, squad=squad, **form.cleaned_data
        )
        if made:
            again = "people:player-add" if "another" in request.POST else "people:squad"
            return redirect(again, squad.pk)
    may_run = access.allows(request.user, Action.RUN_CLUB, squad.season.club)
    context = {"form": form, "squad": squad, "may_run": may_run}
    status = 422 if form.is_bound else 200
    return render(request, "people/player_add.html", context, status=status)


@require_http_methods(["GET", "POST"])
def player_place(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.RUN_CLUB)
    form = PlaceForm(posted(request), user=request.user, squad=squad)
    if form.is_valid() and attempt(
        form, services.place_player, actor=request.user, squad=squad, **form.cleaned_data
    ):
        return redirect("people:squad", squad.pk)
    return form_page(
        request,
        form,
        title=_("A player of the club, into %(squad)s") % {"squad": squad},
        action=_("Take into it"),
        back=reverse("people:squad", args=[squad.pk]),
        lead=_("Its coaches will then see this player's page, comments and goals."),
    )


def _place(
    request: HttpRequest, squad_id: UUID, player_id: UUID, action: Action
) -> tuple[Squad, Player]:
    squad = squad_for(request, squad_id, action)
    players = Player.objects.visible_to(request.user).in_squad(squad)
    return squad, get_object_or_404(players, pk=player_id)


@require_http_methods(["GET", "POST"])
def number_change(request: HttpRequest, squad_id: UUID, player_id: UUID) -> HttpResponse:
    squad, player = _place(request, squad_id, player_id, Action.KEEP_ROSTER)
    numbers = lookups.numbers_in(squad)
    form = NumberForm(posted(request), initial={"number": numbers.get(player.pk, "")})
    places = {"squad": squad, "player": player}
    if form.is_valid() and attempt(
        form, services.change_number, actor=request.user, **places, **form.cleaned_data
    ):
        return redirect("people:squad", squad.pk)
    return form_page(
        request,
        form,
        title=_("Number of %(name)s") % {"name": player.full_name},
        action=_("Change the number"),
        back=reverse("people:squad", args=[squad.pk]),
        lead=_("Films from before that day keep the old number."),
    )


@require_http_methods(["GET", "POST"])
def player_leave(request: HttpRequest, squad_id: UUID, player_id: UUID) -> HttpResponse:
    squad, player = _place(request, squad_id, player_id, Action.KEEP_ROSTER)
    form = LeaveForm(posted(request))
    places = {"squad": squad, "player": player}
    if form.is_valid() and attempt(
        form, services.leave_squad, actor=request.user, **places, **form.cleaned_data
    ):
        return redirect("people:squad", squad.pk)
    return form_page(
        request,
        form,
        title=_("%(name)s leaves %(squad)s") % {"name": player.full_name, "squad": squad},
        action=_("Take off the roster"),
        back=reverse("people:squad", args=[squad.pk]),
        lead=_("What was said and logged stays with the player; the coaches stop seeing it."),
    )


@require_http_methods(["GET", "POST"])
def invite_coach(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = squad_for(request, squad_id, Action.INVITE)
    form = InviteForm(posted(request))
    if form.is_valid() and attempt(
        form,
        services.invite,
        actor=request.user,
        kind=Invitation.Kind.COACH,
        squad=squad,
        **form.cleaned_data,
    ):
        return redirect("people:squad", squad.pk)
    return form_page(
        request,
        form,
        title=_("Invite a coach to %(squad)s") % {"squad": squad},
        action=_("Send the invitation"),
        back=reverse("people:squad", args=[squad.pk]),
        lead=_("A coach sees all players of the squad and can write to them and their guardians."),
    )

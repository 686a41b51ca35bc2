"""How names are heard in a squad, and what a club says for its skills."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.feedback import reading as comments
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Player, Squad
from devplans.talkthrough.forms import AliasForm, PhraseForm
from devplans.talkthrough.models import Alias, SkillPhrase
from devplans.talkthrough.services import aliases, phrases


def coached_squad(request: HttpRequest, squad_id: UUID) -> Squad:
    """The squad, for its coaches; 403 for others who see it."""
    squads = Squad.objects.visible_to(request.user).select_related("season__club")
    squad = get_object_or_404(squads, pk=squad_id)
    access.require(request.user, Action.COACH_SQUAD, squad)
    return squad


def players_of(squad: Squad) -> list[Player]:
    places = squad.squadplayers.select_related("player").order_by("player__first_name")
    return list({place.player_id: place.player for place in places}.values())


def page(request: HttpRequest, squad: Squad, *, status: int = 200, **forms: Any) -> HttpResponse:
    club = squad.season.club
    found = {
        "squad": squad,
        "aliases": Alias.objects.of_squad(squad).told(),
        "phrases": SkillPhrase.objects.of_club(club).order_by("skill__name", "text"),
        "may_keep_phrases": access.allows(request.user, Action.KEEP_CATALOGUE, club),
        "alias_form": AliasForm(players=players_of(squad)),
        "phrase_form": PhraseForm(skills=comments.skills_for(club)),
        **forms,
    }
    return render(request, "talkthrough/names.html", found, status=status)


@require_http_methods(["GET", "POST"])
def names(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    """A squad's spellings and its club's phrases; POST adds a spelling."""
    squad = coached_squad(request, squad_id)
    if request.method == "GET":
        return page(request, squad)
    form = AliasForm(request.POST, players=players_of(squad))
    if form.is_valid():
        try:
            aliases.learn(actor=request.user, squad=squad, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            return redirect("talkthrough:names", squad.pk)
    return page(request, squad, status=422, alias_form=form)


@require_POST
def alias_delete(request: HttpRequest, squad_id: UUID, alias_id: UUID) -> HttpResponse:
    squad = coached_squad(request, squad_id)
    alias = get_object_or_404(Alias.objects.of_squad(squad), pk=alias_id)
    aliases.forget(actor=request.user, alias=alias)
    messages.success(request, _("“%(heard)s” means nobody any more.") % {"heard": alias.heard})
    return redirect("talkthrough:names", squad.pk)


@require_POST
def phrase_add(request: HttpRequest, squad_id: UUID) -> HttpResponse:
    squad = coached_squad(request, squad_id)
    club = squad.season.club
    form = PhraseForm(request.POST, skills=comments.skills_for(club))
    if form.is_valid():
        try:
            phrases.add_phrase(actor=request.user, club=club, **form.cleaned_data)
        except DomainError as error:
            form.add_error(error.field, str(error))
        else:
            return redirect("talkthrough:names", squad.pk)
    return page(request, squad, status=422, phrase_form=form)


@require_POST
def phrase_delete(request: HttpRequest, squad_id: UUID, phrase_id: UUID) -> HttpResponse:
    squad = coached_squad(request, squad_id)
    phrase = get_object_or_404(SkillPhrase.objects.of_club(squad.season.club), pk=phrase_id)
    phrases.delete_phrase(actor=request.user, phrase=phrase)
    messages.success(request, _("“%(text)s” is deleted.") % {"text": phrase.text})
    return redirect("talkthrough:names", squad.pk)

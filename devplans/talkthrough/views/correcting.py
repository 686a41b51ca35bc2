"""The correct page: what was said beside what was understood, and every step of correcting."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from devplans.core.errors import DomainError
from devplans.feedback import roster as comments_roster
from devplans.film.lookups import coached_film
from devplans.talkthrough import reading
from devplans.talkthrough.forms import SuggestionForm
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.services import cutting, retrying, steps, suggestions, understanding
from devplans.talkthrough.services.suggestions import Outcome
from devplans.talkthrough.views.recording import own_talk

MOST_WORDS = 10_000


@dataclass
class Did:
    """What a step did and what the page says of it; `reload` where everything is new."""

    outcome: Outcome
    said: str = ""
    current: UUID | None = None
    words_changed: bool = False
    reload: bool = False


@require_GET
def film_talks(request: HttpRequest, film_id: UUID) -> HttpResponse:
    """One's own talk-throughs of a film."""
    film = coached_film(request, film_id)
    found = {"film": film, "talks": reading.talks_of(request.user, film)}
    return render(request, "talkthrough/film_talks.html", found)


@require_GET
def correct(request: HttpRequest, talk_id: UUID) -> HttpResponse:
    """Words on one side, suggestions on the other; `?part=words` is the words alone."""
    talk = own_talk(request, talk_id)
    page = reading.Page(talk)
    found = page_of(request, page)
    if request.GET.get("part") == "words":
        found["lines"] = reading.words_side(page)
        return render(request, "talkthrough/_words.html", found)
    if talk.state == TalkThrough.State.FAILED:
        found["can_retry"] = reading.can_retry(talk)
    if talk.state == TalkThrough.State.READY:
        found |= {"rows": page.rows(), "lines": reading.words_side(page)}
    return render(request, "talkthrough/correct.html", found)


def page_of(request: HttpRequest, page: reading.Page) -> dict[str, Any]:
    talk = page.talk
    return {
        "talk": talk,
        "film": talk.film,
        "counts": page.counts(),
        "can_undo": talk.steps.exists(),
        "is_behind": reading.is_behind(talk),
        "drafts": reading.drafts_to_send(request.user, talk.film),
    }


def one_of(talk: TalkThrough, key: str) -> Suggestion:
    try:
        found = UUID(key)
    except ValueError:
        raise Http404 from None
    rows = Suggestion.objects.of_talk(talk).shown()
    one = get_object_or_404(rows, pk=found)
    one.talk = talk
    return one


def player_of(talk: TalkThrough, key: str) -> Any:
    for entry in comments_roster.roster(talk.film):
        if str(entry.player.pk) == key:
            return entry.player
    raise Http404


@require_POST
def do(request: HttpRequest, talk_id: UUID) -> HttpResponse:
    """One step: `do` is what, of which suggestion, and with what, with colons between."""
    talk = own_talk(request, talk_id)
    what, *rest = request.POST.get("do", "").split(":", 3)
    act = ACTS.get(what)
    if act is None:
        raise Http404
    try:
        did = act(request, talk, [*rest, "", "", ""])
    except DomainError as error:
        return refused(request, talk, str(error))
    return answered(request, talk, did)


def wants_json(request: HttpRequest) -> bool:
    return "application/json" in request.headers.get("Accept", "")


def refused(request: HttpRequest, talk: TalkThrough, why: str) -> HttpResponse:
    if wants_json(request):
        return JsonResponse({"detail": why}, status=422)
    messages.error(request, why)
    return redirect("talkthrough:correct", talk.pk)


def answered(request: HttpRequest, talk: TalkThrough, did: Did) -> HttpResponse:
    """For a script the rows that changed and the head; else the page once more, at that row."""
    taught = reading.taught_words(did.outcome.taught)
    talk = own_talk(request, talk.pk)
    if not wants_json(request):
        for words in filter(None, (did.said, taught)):
            messages.success(request, words)
        place = f"#s-{did.current}" if did.current else ""
        return redirect(reverse("talkthrough:correct", args=[talk.pk]) + place)
    page = reading.Page(talk)
    shared = page_of(request, page)
    said = " ".join(filter(None, (did.said, taught)))
    changed = {one.pk for one in did.outcome.rows}
    html = [
        {
            "id": str(row.one.pk),
            "place": row.one.place,
            "html": render_to_string(
                "talkthrough/_suggestion.html", {**shared, "row": row}, request
            ),
        }
        for row in page.rows(changed)
    ]
    asks = page.asks(did.outcome.asks)
    ask = {"asks": asks, "of": did.current, "talk": talk}
    return JsonResponse(
        {
            "rows": html,
            "gone": [str(key) for key in did.outcome.gone],
            "head": render_to_string("talkthrough/_correct_foot.html", shared, request),
            "ask": render_to_string("talkthrough/_asks.html", ask, request) if asks else "",
            "said": said,
            "current": str(did.current) if did.current else "",
            "words": did.words_changed or bool(did.outcome.taught),
            "reload": did.reload,
            "done": talk.finished_at is not None,
        }
    )


def accept(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    silent = rest[1] == "silent"
    done = suggestions.accept(actor=request.user, suggestion=one, silent=silent)
    said = _("Accepted: a draft now.")
    if one.lacks_answer:
        said = _(
            "Accepted as a draft, which cannot be sent before it has a “Next time”:"
            " write it in its row, or later on Check and send."
        )
    return Did(done, said, one.pk)


def drop(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    return Did(suggestions.drop(actor=request.user, suggestion=one), _("Dropped."), one.pk)


def reopen(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    return Did(suggestions.reopen(actor=request.user, suggestion=one), _("Open again."), one.pk)


def player(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    picked = player_of(talk, rest[1])
    done = suggestions.pick_player(actor=request.user, suggestion=one, player=picked)
    return Did(done, "", one.pk, words_changed=True)


def skill(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    return Did(suggestions.pick_skill(actor=request.user, suggestion=one, slug=rest[1]), "", one.pk)


def verdict(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    return Did(suggestions.judge(actor=request.user, suggestion=one, verdict=rest[1]), "", one.pk)


def merge(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    done = cutting.merge_next(actor=request.user, suggestion=one)
    return Did(done, _("Joined with the next."), one.pk, words_changed=True)


def split(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    at = request.POST.get("at", rest[1])
    is_place = at.isdecimal() and int(at) < MOST_WORDS
    done = cutting.split(actor=request.user, suggestion=one, at=int(at) if is_place else 0)
    return Did(done, _("Cut in two."), one.pk, words_changed=True)


def left(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    done = cutting.take_left_out(actor=request.user, talk=talk, key=rest[0])
    return Did(done, _("A suggestion now."), done.rows[0].pk, words_changed=True)


def alias(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    named = player_of(talk, rest[1])
    done = suggestions.answer(actor=request.user, suggestion=one, player=named, heard=rest[2])
    return Did(done, "", one.pk, words_changed=True)


def with_voice(request: HttpRequest, talk: TalkThrough, rest: list[str]) -> Did:
    one = one_of(talk, rest[0])
    on = rest[1] == "on"
    agreed = bool(request.POST.get(f"agreed-{one.pk}"))
    done = suggestions.set_voice(actor=request.user, suggestion=one, on=on, agreed=agreed)
    said = _("Your voice goes along.") if on else _("Without your voice.")
    return Did(done, said, one.pk)


def certain(request: HttpRequest, talk: TalkThrough, _rest: list[str]) -> Did:
    done = suggestions.accept_certain(actor=request.user, talk=talk)
    count = len(done.rows)
    said = ngettext("%(count)s accepted.", "%(count)s accepted.", count) % {"count": count}
    if done.refused:
        said += " " + _("%(count)s cannot be a comment as they are.") % {"count": done.refused}
    return Did(done, said)


def finish(request: HttpRequest, talk: TalkThrough, _rest: list[str]) -> Did:
    return Did(suggestions.finish(actor=request.user, talk=talk), _("The rest is left."))


def undo(request: HttpRequest, talk: TalkThrough, _rest: list[str]) -> Did:
    undone = steps.undo(actor=request.user, talk=talk)
    done = Outcome(undone.rows, undone.gone)
    current = undone.rows[0].pk if undone.rows else None
    return Did(done, reading.step_words(undone.what), current, words_changed=True)


def again(request: HttpRequest, talk: TalkThrough, _rest: list[str]) -> Did:
    understanding.read_again(actor=request.user, talk=talk)
    return Did(Outcome(), _("Read again."), reload=True)


def retry(request: HttpRequest, talk: TalkThrough, _rest: list[str]) -> Did:
    retrying.try_again(actor=request.user, talk=talk)
    return Did(Outcome(), reload=True)


ACTS: dict[str, Callable[[HttpRequest, TalkThrough, list[str]], Did]] = {
    "accept": accept,
    "drop": drop,
    "reopen": reopen,
    "player": player,
    "skill": skill,
    "verdict": verdict,
    "merge": merge,
    "split": split,
    "left": left,
    "alias": alias,
    "voice": with_voice,
    "certain": certain,
    "finish": finish,
    "undo": undo,
    "again": again,
    "retry": retry,
}


@require_http_methods(["GET", "POST"])
def suggestion_edit(request: HttpRequest, talk_id: UUID, suggestion_id: UUID) -> HttpResponse:
    """The form of one suggestion; a script keeps what is typed as it goes."""
    talk = own_talk(request, talk_id)
    one = one_of(talk, str(suggestion_id))
    extra = list(one.players.all())
    entries = comments_roster.roster(talk.film, extra=extra)
    form = SuggestionForm(request.POST or None, suggestion=one, entries=entries)
    if request.method == "POST" and form.is_valid():
        try:
            done = suggestions.edit(
                actor=request.user,
                suggestion=one,
                session=request.POST.get("session", "")[:40],
                **form.cleaned_data,
            )
        except DomainError as error:
            form.refuse(error.field, str(error))
        else:
            return answered(request, talk, Did(done, _("Kept."), one.pk, words_changed=True))
    found = {"talk": talk, "film": talk.film, "one": one, "form": form}
    if wants_json(request) and request.method == "POST":
        html = render_to_string("talkthrough/_suggestion_form.html", found, request)
        return JsonResponse({"form": [html]}, status=422)
    fragment = "_suggestion_form" if request.GET.get("part") else "suggestion_edit"
    status = 422 if request.method == "POST" else 200
    return render(request, f"talkthrough/{fragment}.html", found, status=status)

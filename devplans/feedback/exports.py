"""What somebody may read of a film, as files in open formats.

A file for staff names players as the roster does; a family's holds its own deliveries, whose words
name nobody else, and not the title of the film, which may.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.text import slugify
from django.utils.translation import gettext as _

from devplans.feedback import annotation, csvfile, reading, roster, webvtt
from devplans.feedback.drawing import shapes_of, shown_shapes, svg_over
from devplans.feedback.drawings.reading import written
from devplans.feedback.models import Comment, Delivery
from devplans.feedback.noted import Noted, Who, lines_ended
from devplans.film.models import Film, Possession
from devplans.people.models import Player


@dataclass(frozen=True)
class Page:
    """A file to be sent: its text, its media type, and what a download is called."""

    text: str
    content_type: str
    filename: str


@dataclass
class Numbers:
    """How the players of a film are told in a file."""

    by_player: dict[UUID, str]

    @classmethod
    def of_film(cls, film: Film) -> "Numbers":
        entries = roster.roster(film)
        worn = Counter(entry.number for entry in entries)
        alone = {e.player.pk: e.number for e in entries if worn[e.number] == 1 and e.number}
        return cls(alone)

    def who(self, player: Player) -> Who:
        return Who(self.by_player.get(player.pk, ""), player.full_name)

    def briefly(self, players: tuple[Who, ...]) -> tuple[Who, ...]:
        """The number alone where there is one: no more of a child than needed."""
        return tuple(Who(one.number) if one.number else one for one in players)


def _moment(at: datetime | None) -> str:
    return at.isoformat().replace("+00:00", "Z") if at else ""


def _noted(comment: Comment, words: Comment | Delivery, players: tuple[Who, ...]) -> Noted:
    shapes = shapes_of(comment) if isinstance(words, Comment) else shown_shapes(comment)
    return Noted(
        id=str(comment.pk),
        start_ms=comment.start_ms,
        end_ms=comment.end_ms,
        players=players,
        skill=comment.skill.slug,
        verdict=comment.verdict,
        happened=lines_ended(words.happened),
        do_instead=lines_ended(words.do_instead),
        sent_at=_moment(words.sent_at),
        drawing=svg_over(comment.film, shapes),
        shapes=written(shapes),
    )


def noted(rows: Any, numbers: Numbers) -> list[Noted]:
    """Comments or deliveries, as `reading.readable` gives them, in the form of the files."""
    found = []
    if rows.model is Delivery:
        for delivery in rows.select_related("comment__drawing", "comment__film"):
            players = (numbers.who(delivery.player),)
            found.append(_noted(delivery.comment, delivery, players))
        return found
    for comment in rows:
        players = sorted(
            (numbers.who(player) for player in comment.players.all()),
            key=lambda one: (len(one.number), one.number, one.name),
        )
        found.append(_noted(comment, comment, tuple(players)))
    return found


def comments_file(user: Any, film_id: UUID, kind: str, address: str) -> Page:
    """The comments of a film that `user` may read. kind: a key of KINDS; address: of the file.

    Raises Http404 where the film is closed to the user.
    """
    film = _seen(user, film_id)
    rows = reading.readable(user, film=film_id)
    numbers = Numbers.of_film(film)
    is_family = rows.model is Delivery
    label = _("Comments") if is_family else _("Comments on %(title)s") % {"title": film.title}
    source = settings.PUBLIC_URL + reverse("film:detail", args=[film.pk])
    content_type, write = KINDS[kind]
    text = write(noted(rows, numbers), numbers, label, address, source)
    return Page(text, content_type, _filename("" if is_family else film.title, "comments", kind))


def possessions_file(user: Any, film_id: UUID, kind: str) -> Page:
    """The possessions of a film, as WebVTT chapters or CSV ("vtt", "csv"). For its staff.

    One that is still being marked is left out. Raises Http404, and PermissionDenied for families.
    """
    film = _seen(user, film_id)
    if not Film.objects.for_staff(user).contains(film):
        raise PermissionDenied
    rows = Possession.objects.filter(film=film, end_ms__isnull=False)
    stretches = [webvtt.Stretch(str(r.pk), r.side, r.start_ms, r.end_ms or 0) for r in rows]
    filename = _filename(film.title, "possessions", kind)
    if kind == "csv":
        return Page(csvfile.possessions(stretches), CSV, filename)
    note = _("Possessions of %(title)s") % {"title": film.title}
    return Page(webvtt.chapters(stretches, note=note), VTT, filename)


def _seen(user: Any, film_id: UUID) -> Film:
    films = Film.objects.visible_to(user).select_related("squad__season__club", "event")
    return get_object_or_404(films, pk=film_id)


def _filename(title: str, what: str, kind: str) -> str:
    return "-".join(filter(None, [slugify(title)[:60], f"{what}.{kind}"]))


def _as_vtt(found: list[Noted], numbers: Numbers, label: str, *_addresses: str) -> str:
    brief = [replace(one, players=numbers.briefly(one.players)) for one in found]
    return webvtt.written(brief, note=label)


def _as_csv(found: list[Noted], *_others: Any) -> str:
    return csvfile.written(found)


def _as_annotations(
    found: list[Noted], _numbers: Numbers, label: str, address: str, source: str
) -> str:
    return annotation.written(found, address=address, label=label, source=source)


VTT = "text/vtt; charset=utf-8"
CSV = "text/csv; charset=utf-8"
JSONLD = 'application/ld+json; profile="http://www.w3.org/ns/anno.jsonld"'
KINDS: dict[str, tuple[str, Callable[..., str]]] = {
    "vtt": (VTT, _as_vtt),
    "jsonld": (JSONLD, _as_annotations),
    "csv": (CSV, _as_csv),
}

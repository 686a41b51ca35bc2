"""A clip list as a page or a meeting room shows it: names hidden, whoever looks.

What a coach wrote for the team (title, notes, words in drawings) is masked for every player that
the squad ever had. Of comments nothing is shown but skill and drawing.
"""

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.feedback import drawing, naming, times
from devplans.feedback import reading as comments_reading
from devplans.feedback.cliplists.models import ClipList, ClipListItem, ListClip
from devplans.feedback.cliplists.times import running_ms
from devplans.feedback.drawings import svg
from devplans.feedback.models import Comment, Drawing
from devplans.feedback.naming import Named
from devplans.film.models import Film
from devplans.people.access import Role
from devplans.people.models import Player, Squad, SquadPlayer


def everyone(squad: Squad) -> list[Named]:
    """All who ever were in the squad, with every number they wore in it."""
    rows = SquadPlayer.objects.filter(squad=squad).select_related("player").order_by("since", "pk")
    players: dict[UUID, Player] = {}
    numbers: dict[UUID, list[str]] = {}
    for row in rows:
        players[row.player_id] = row.player
        worn = numbers.setdefault(row.player_id, [])
        if row.number and row.number not in worn:
            worn.append(row.number)
    return [
        Named(one.first_name, one.last_name, tuple(numbers[key])) for key, one in players.items()
    ]


def mask_titles(user: Any, lists: Sequence[ClipList]) -> None:
    """Mask the titles of those `lists` that `user` reads as a player or a guardian."""
    staff = Squad.objects.for_role(user, Role.COACH, Role.DIRECTOR)
    coached = set(staff.filter(clip_lists__in=lists).values_list("pk", flat=True))
    people: dict[UUID, list[Named]] = {}
    for row in lists:
        if row.squad_id in coached:
            continue
        if row.squad_id not in people:
            people[row.squad_id] = everyone(row.squad)
        row.title = naming.mask(row.title, people[row.squad_id])


@dataclass
class ShownClip:
    """One clip of a list. `problem` says why it cannot be played now; empty where it can. `cut`:
    the file, for those who watch that."""

    item: ClipListItem
    place: int
    skill: str
    words: str
    problem: str = ""
    is_waiting: bool = False
    bare_numbers: list[str] = field(default_factory=list)
    cut: ListClip | None = None

    @property
    def is_masked(self) -> bool:
        return self.words != self.item.note

    @property
    def begins(self) -> str:
        return times.told(self.item.start_ms)

    @property
    def ends(self) -> str:
        return times.told(self.item.end_ms)

    @property
    def quoted_numbers(self) -> str:
        return ", ".join(f"“{number}”" for number in self.bare_numbers)


@dataclass
class ShownList:
    """A list with its clips, for one reader. `title` is masked, as all that families read."""

    clip_list: ClipList
    is_staff: bool
    title: str
    clips: list[ShownClip]
    removed: list[ClipListItem]
    people: list[Named]

    @property
    def playing(self) -> list[ShownClip]:
        return [clip for clip in self.clips if not clip.problem]

    @property
    def running_ms(self) -> int:
        """What will be played; clips that cannot be are not counted."""
        return running_ms((clip.item.start_ms, clip.item.end_ms) for clip in self.playing)

    @property
    def is_waiting(self) -> bool:
        """Is a file still being cut?"""
        return any(clip.is_waiting for clip in self.clips)


def shown(user: Any, clip_list: ClipList) -> ShownList:
    """The list as `user` sees it, in a fixed number of queries. Whoever is no staff of the squad
    plays the files cut for the list, and nothing else of the films."""
    is_staff = ClipList.objects.for_staff(user).filter(pk=clip_list.pk).exists()
    return _shown(clip_list, is_staff=is_staff)


def _shown(clip_list: ClipList, *, is_staff: bool) -> ShownList:
    people = everyone(clip_list.squad)
    rows = list(clip_list.items.in_order().select_related("comment__drawing"))
    standing = [row for row in rows if row.removed_at is None]
    cuts = {} if is_staff else current_cuts(standing, people)
    clips = []
    for place, item in enumerate(standing, start=1):
        clip = ShownClip(
            item,
            place,
            naming.mask(item.skill.name, people, careful=True) if item.skill else "",
            naming.mask(item.note, people),
            bare_numbers=_bare_numbers(item.note, people),
        )
        clip.cut = cuts.get(item.pk)
        clip.problem = film_problem(item) or ("" if is_staff else cut_problem(clip.cut))
        clip.is_waiting = not is_staff and item.plays and _is_waiting(clip.cut)
        clips.append(clip)
    removed = [row for row in rows if row.removed_at is not None] if is_staff else []
    title = naming.mask(clip_list.title, people)
    return ShownList(clip_list, is_staff, title, clips, removed, people)


def _bare_numbers(note: str, people: Iterable[Named]) -> list[str]:
    """Numbers in a note that a player wears: nobody can tell whether he is meant."""
    worn = {number for one in people for number in one.numbers}
    found = re.findall(r"(?<![\w.,:/-])\d{1,3}(?![\w:/-]|\s*%|[.,]\d)", naming.mask(note, people))
    return [number for number in dict.fromkeys(found) if number in worn]


def film_problem(item: ClipListItem) -> str:
    """Why the film of a clip cannot be played; empty where it can."""
    if item.film is None:
        return _("The film of this clip has been deleted.")
    if not item.film.is_ready:
        return _("The film of this clip is not ready yet.")
    return ""


def _is_waiting(cut: ListClip | None) -> bool:
    return cut is None or cut.state == ListClip.State.WAITING


def cut_problem(cut: ListClip | None) -> str:
    if _is_waiting(cut):
        return _("This clip is being cut.")
    if cut is not None and cut.state == ListClip.State.FAILED:
        return _("This clip could not be cut.")
    return ""


def current_cuts(items: Sequence[ClipListItem], people: Sequence[Named]) -> dict[UUID, ListClip]:
    """The cut file of each item's span, with the drawing on it, as both are now."""
    rows = ListClip.objects.filter(item__in=items)
    wanted = {item.pk: cut_facts(item, people) for item in items}
    return {
        row.item_id: row
        for row in rows
        if wanted[row.item_id] == (row.start_ms, row.end_ms, row.drawn)
    }


def cut_facts(item: ClipListItem, people: Sequence[Named]) -> tuple[int, int, str]:
    """What a file of `item` is cut by: start, end, and a fingerprint of what is drawn on it."""
    drawn = drawing_on(item, people)
    mark = hashlib.sha256(f"{item.moment_ms} {drawn}".encode()).hexdigest() if drawn else ""
    return item.start_ms, item.end_ms, mark


def cut_of(item: ClipListItem) -> ListClip | None:
    """The file that families may watch of `item`, if it is there and its film still is."""
    cut = current_cuts([item], everyone(item.clip_list.squad)).get(item.pk)
    is_there = cut is not None and cut.state == ListClip.State.READY
    return cut if is_there and item.plays else None


def drawing_on(item: ClipListItem, people: Sequence[Named]) -> str:
    """The SVG of what is drawn on the comment's frame, its words masked; "" for none."""
    comment = item.comment
    if comment is None or item.film is None or comment.withdrawn_at or item.moment_ms is None:
        return ""
    try:
        shapes = comment.drawing.shapes
    except Drawing.DoesNotExist:
        return ""
    if not shapes:
        return ""
    width, height = drawing.frame_of(item.film)
    return svg.drawn(drawing.masked(shapes, people), width=width, height=height)


def programme(found: ShownList) -> dict[str, Any]:
    """What the presenting page plays, as JSON: no name, no number, no key of a player or comment.

    Times are milliseconds in the file that `src` leads to.
    """
    return {
        "title": found.title,
        "words": found.clip_list.shows_words,
        "clips": [_played(found, clip) for clip in found.clips],
    }


def _played(found: ShownList, clip: ShownClip) -> dict[str, Any]:
    item = clip.item
    told = {"skill": clip.skill, "words": clip.words, "problem": clip.problem}
    if clip.problem or item.film is None:
        return {**told, "start": 0, "end": 0}
    src = _address(found, item)
    if not found.is_staff:
        # The drawing is in the file, which stands still under it.
        length_ms = clip.cut.length_ms if clip.cut else None
        return {**told, "src": src, "start": 0, "end": length_ms or item.length_ms}
    played = {**told, "src": src, "start": item.start_ms, "end": item.end_ms}
    moment, drawn = item.moment_ms, drawing_on(item, found.people)
    if drawn and moment is not None:
        played |= {"moment": moment, "drawing": drawn}
    return played


def _address(found: ShownList, item: ClipListItem) -> str:
    if found.is_staff:
        return reverse("film:play", args=[item.film_id])
    return reverse("feedback:cliplist-clip", args=[found.clip_list.pk, item.pk])


@dataclass
class Wanted:
    """What is looked for among the comments of a squad's films; None and "" mean: any."""

    skill: Skill | None = None
    player: Player | None = None
    verdict: str = ""
    since: date | None = None
    until: date | None = None


def candidates(user: Any, squad: Squad, wanted: Wanted) -> QuerySet[Comment]:
    """Comments that `user` may read on films of `squad` that can be played, the newest film first.

    since, until: the day that the film shows, on the club's clock.
    """
    rows = comments_reading.comments_for(user).filter(
        film__squad=squad, film__state=Film.State.READY, withdrawn_at=None
    )
    rows = rows.annotate(shown_at=Coalesce("film__recorded_at", "film__created_at"))
    asked = {
        "skill": wanted.skill,
        "players": wanted.player,
        "verdict": wanted.verdict,
        "shown_at__date__gte": wanted.since,
        "shown_at__date__lte": wanted.until,
    }
    rows = rows.filter(**{name: value for name, value in asked.items() if value})
    return rows.order_by("-shown_at", "film_id", "start_ms", "pk")

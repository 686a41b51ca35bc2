"""What the correct page shows: the words with what was made of them, and the suggestions."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.feedback import reading as comments
from devplans.feedback import roster as comments_roster
from devplans.feedback.models import Comment
from devplans.feedback.roster import Entry
from devplans.film.models import Film
from devplans.people.models import Player
from devplans.talkthrough import sounding
from devplans.talkthrough.lessons import Ask
from devplans.talkthrough.models import Alias, SkillPhrase, Suggestion, TalkLine, TalkThrough
from devplans.talkthrough.settling import is_certain
from devplans.talkthrough.spoken import Spoken, of
from devplans.talkthrough.understand.moments import AROUND, NOT_NAMED, NOTHING, OTHERS, TEAM
from devplans.talkthrough.understand.words import WORD, folded, timed
from devplans.talkthrough.writer import OUTSIDE

States = Suggestion.State


@dataclass
class Offer:
    """Something to choose by a number key: a player or a skill."""

    key: str
    do: str
    words: str
    number: str = ""


@dataclass
class Row:
    """A suggestion as the page shows it."""

    one: Suggestion
    entries: list[Entry]
    players: list[Offer]
    skills: list[Offer]
    has_sound: bool
    asks_more: bool
    voice_trouble: str = ""

    @property
    def is_certain(self) -> bool:
        return is_certain(self.one)


@dataclass
class Counts:
    open: int = 0
    accepted: int = 0
    dropped: int = 0
    certain: int = 0

    @property
    def all(self) -> int:
        return self.open + self.accepted + self.dropped


class Page:
    """The suggestions of one talk with what belongs to them, in a fixed number of queries."""

    def __init__(self, talk: TalkThrough) -> None:
        self.talk = talk
        extra = Player.objects.filter(pk__in=Suggestion.players.through.objects.filter(
            suggestion__talk=talk
        ).values("player"))  # fmt: skip
        roster = comments_roster.roster(talk.film, extra=extra)
        self.entries = {str(entry.player.pk): entry for entry in roster}
        club = talk.film.squad.season.club
        self.skills: dict[str, Skill] = {one.slug: one for one in comments.skills_for(club)}
        self.suggestions = list(Suggestion.objects.of_talk(talk).shown())

    def rows(self, only: Iterable[UUID] | None = None) -> list[Row]:
        wanted = None if only is None else set(only)
        return [self.row(one) for one in self.suggestions if wanted is None or one.pk in wanted]

    def row(self, one: Suggestion) -> Row:
        keys = [str(player.pk) for player in one.players.all()]
        entries = [self.entries[key] for key in keys if key in self.entries]
        entries.sort(key=comments_roster.by_number)
        players = [
            Offer("", f"player:{one.pk}:{key}", self.entries[key].player.full_name,
                  self.entries[key].number)
            for key in one.unsure if key in self.entries and key not in keys
        ]  # fmt: skip
        skills = [
            Offer("", f"skill:{one.pk}:{slug}", self.skills[slug].name)
            for slug in one.maybe_skills if slug in self.skills
        ]  # fmt: skip
        for number, offer in enumerate([*players, *skills], 1):
            offer.key = str(number)
        asks_more = bool(players) or not entries or one.skill is None
        trouble = ""
        if one.state == States.OPEN:
            one.talk = self.talk
            trouble = sounding.trouble(one)
        return Row(one, entries, players, skills, sounding.has_sound(one), asks_more, trouble)

    def counts(self) -> Counts:
        found = Counts()
        for one in self.suggestions:
            if one.state == States.OPEN:
                found.open += 1
                found.certain += is_certain(one)
            elif one.state == States.ACCEPTED:
                found.accepted += 1
            else:
                found.dropped += 1
        return found

    def asks(self, asks: Sequence[Ask]) -> list[tuple[Ask, Player]]:
        return [(ask, self.entries[ask.key].player) for ask in asks if ask.key in self.entries]


@dataclass
class Piece:
    """A run of words of one line. of: the suggestion they went into; left: what was left out;
    who: for whom they were taken, "" where that is asked, None for no name."""

    text: str
    of: UUID | None = None
    left: dict[str, Any] | None = None
    who: str | None = None
    ends_left: bool = False


@dataclass
class Line:
    start_ms: int
    pieces: list[Piece] = field(default_factory=list)


@dataclass
class _Word:
    line: int
    start: int
    end: int
    at_ms: int
    folded: str
    of: UUID | None = None
    left: int | None = None
    who: str | None = None


def words_side(page: Page) -> list[Line]:
    """All lines in order, each cut where something else begins."""
    spoken = of(page.talk)
    lines = [(part.base_ms, line) for part in spoken.parts for line in part.lines]
    words = [word for at, (base, line) in enumerate(lines) for word in _words(at, base, line)]
    times = [word.at_ms for word in words]
    for one in page.suggestions:
        _mark_suggestion(page, spoken, one, words, times)
    left_out = [one | {"why_words": why_left_out(one["why"])} for one in page.talk.left_out]
    for place, entry in enumerate(left_out):
        first = bisect_left(times, entry["spoken_ms"])
        count = len(WORD.findall(entry["said"]))
        for word in words[first : first + count]:
            if word.of is None:
                word.left = place
    found = [Line(line.film_start_ms) for _base, line in lines]
    by_line: dict[int, list[_Word]] = {}
    for word in words:
        by_line.setdefault(word.line, []).append(word)
    for at, (_base, line) in enumerate(lines):
        found[at].pieces = _pieces(line.text, by_line.get(at, []), left_out)
    _end_left_out(found)
    return found


def _words(at: int, base: int, line: TalkLine) -> Iterable[_Word]:
    """With their places in the line, and when they were said in spoken time."""
    for match, start_ms, _end_ms in timed(line.text, line.start_ms, line.end_ms):
        yield _Word(at, match.start(), match.end(), base + start_ms, folded(match[0]))


def _mark_suggestion(
    page: Page, spoken: Spoken, one: Suggestion, words: list[_Word], times: list[int]
) -> None:
    part = spoken.part_of(one.take_id)
    base = part.base_ms if part else 0
    first = bisect_left(times, base + one.sound_start_ms)
    last = max(first, bisect_right(times, base + one.sound_end_ms - 1))
    mine = words[first:last]
    for word in mine:
        word.of = one.pk
    for entry in one.heard:
        names = [page.entries[key].player.full_name for key in entry["players"]
                 if key in page.entries]  # fmt: skip
        who = names[0] if entry["sure"] and names else ""
        said = [folded(match[0]) for match in WORD.finditer(entry["text"])]
        for at in range(len(mine) - len(said) + 1):
            if said and [word.folded for word in mine[at : at + len(said)]] == said:
                for word in mine[at : at + len(said)]:
                    word.who = who


def _pieces(text: str, words: list[_Word], left_out: list[dict[str, Any]]) -> list[Piece]:
    pieces: list[Piece] = []
    was: tuple[Any, ...] | None = None
    for at, word in enumerate(words):
        end = words[at + 1].start if at + 1 < len(words) else len(text)
        start = 0 if at == 0 else word.start
        now = (word.of, word.left, word.who)
        if now != was:
            left = None if word.left is None else left_out[word.left]
            pieces.append(Piece("", word.of, left, word.who))
            was = now
        if word.who is not None:
            # What follows a name is none of it.
            pieces[-1].text += text[start : word.end]
            pieces.append(Piece(text[word.end : end], word.of))
            was = (word.of, None, None)
        else:
            pieces[-1].text += text[start:end]
    return pieces or [Piece(text)]


def _end_left_out(lines: list[Line]) -> None:
    """The last piece of each left-out stretch carries its button."""
    last: dict[str, Piece] = {}
    for line in lines:
        for piece in line.pieces:
            if piece.left:
                last[piece.left["id"]] = piece
    for piece in last.values():
        piece.ends_left = True


def why_left_out(why: str) -> str:
    """In words, why nothing was made of what was said."""
    told = {
        OUTSIDE: _("outside of the film"),
        NOT_NAMED: _("nobody of the squad is named"),
        OTHERS: _("about the other side or somebody outside the squad"),
        TEAM: _("about the whole team"),
        AROUND: _("about the day, not about how anybody played"),
        NOTHING: _("nothing is said about how it was done"),
    }
    return told.get(why, why)


def step_words(what: str) -> str:
    """What undoing has taken back."""
    told = {
        "accept": _("Not accepted any more."),
        "accept_certain": _("None of those is accepted any more."),
        "drop": _("Taken up again."),
        "reopen": _("Dropped again."),
        "merge": _("Two again."),
        "split": _("One again."),
        "take_left_out": _("Left out again."),
        "alias": _("Forgotten again."),
        "finish": _("Taken up again."),
    }
    return told.get(what, _("As it was before."))


def talks_of(user: Any, film: Film) -> list[TalkThrough]:
    """The user's own talk-throughs of a film, the newest first, with their counts."""
    mine = TalkThrough.objects.visible_to(user).filter(film=film)
    return list(mine.counted().order_by("-created_at"))


def to_correct(user: Any) -> list[TalkThrough]:
    """The user's talks with something left to correct, the newest first."""
    mine = TalkThrough.objects.visible_to(user).to_correct().counted().filter(open_count__gt=0)
    return list(mine.select_related("film__squad").order_by("-created_at"))


def can_retry(talk: TalkThrough) -> bool:
    """Has it failed, with something left to try again with?"""
    return TalkThrough.objects.worth_another_try().filter(pk=talk.pk).exists()


def is_behind(talk: TalkThrough) -> bool:
    """Was something learned since it was understood, and is something left to make anew?"""
    if talk.understood_at is None:
        return False
    squad = talk.film.squad
    newer = {"updated_at__gt": talk.understood_at}
    learned = Alias.objects.of_squad(squad).filter(**newer).exists() or (
        SkillPhrase.objects.of_club(squad.season.club).filter(**newer).exists()
    )
    return learned and Suggestion.objects.of_talk(talk).untouched().exists()


def taught_words(taught: Iterable[Alias]) -> str:
    """What was learned, for the page to say; empty for nothing."""
    return " ".join(
        _("Learned: “%(heard)s” is %(name)s.") % {"heard": one.heard, "name": one.player.first_name}
        for one in taught
    )


def drafts_to_send(user: Any, film: Film) -> int:
    """How many drafts wait on the film's *check and send*."""
    return Comment.objects.to_send_by(user).of_film(film).count()

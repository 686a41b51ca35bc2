"""*Check and send*: a coach's drafts of one film as each player would get them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.core.models import Message
from devplans.feedback import drawing as drawings
from devplans.feedback import naming, roster, standing, wording
from devplans.feedback.models import Comment, Delivery, Voice
from devplans.feedback.naming import Named
from devplans.feedback.notices import not_before
from devplans.feedback.roster import Entry
from devplans.feedback.standing import Standing
from devplans.feedback.voices import keeping
from devplans.film.models import Film
from devplans.people.models import Guardianship, Player
from devplans.threads.members import coach_name

MOST_FIXES = 3
DID_IT_PER_FIX = 2
Verdict = Comment.Verdict


@dataclass
class Line:
    """One draft as one player and his family will read it."""

    comment: Comment
    happened: str
    do_instead: str
    names: list[str]
    suggestion: str
    voice: Voice | None = None
    voice_names: list[str] = field(default_factory=list)

    @property
    def quoted_names(self) -> str:
        return ", ".join(f"“{name}”" for name in self.names)

    @property
    def quoted_voice_names(self) -> str:
        return ", ".join(f"“{name}”" for name in self.voice_names)

    @property
    def is_masked(self) -> bool:
        """Does this family read other words than the coach wrote?"""
        written = (self.comment.happened, self.comment.do_instead)
        if (self.happened, self.do_instead) != written:
            return True
        return drawings.shown_shapes(self.comment) != drawings.shapes_of(self.comment)

    @property
    def lacks_answer(self) -> bool:
        return self.comment.lacks_answer

    @property
    def waits(self) -> bool:
        """Does something about it keep it from being sent?"""
        return self.lacks_answer or bool(self.voice_names)


@dataclass
class Page:
    """Everything that one player gets from the film."""

    entry: Entry
    standing: Standing
    readers: list[str]
    arrives_at: datetime | None
    lines: list[Line] = field(default_factory=list)

    @property
    def verdicts(self) -> list[str]:
        return [line.comment.verdict for line in self.lines]

    @property
    def did_it(self) -> int:
        return self.verdicts.count(Verdict.DID_IT)

    @property
    def fixes(self) -> int:
        return self.verdicts.count(Verdict.NOT_YET)

    @property
    def lacking_answers(self) -> int:
        return sum(line.lacks_answer for line in self.lines)

    @property
    def sendable(self) -> list[Line]:
        """What would go now, were the player chosen."""
        ready = [line for line in self.lines if not line.waits]
        return ready if self.standing.can_get else []

    @property
    def remarks(self) -> list[str]:
        """What keeps it from going, then what the coach may want to think over."""
        found = [*self.standing.lacks, *self._missing_answers(), *self._voices()]
        return [*found, *self._balance()]

    def _missing_answers(self) -> list[str]:
        count = self.lacking_answers
        if not count:
            return []
        words = ngettext(
            "%(count)s “not yet” without “Next time”: it waits.",
            "%(count)s “not yet” without “Next time”: they wait.",
            count,
        )
        return [words % {"count": count}]

    def _voices(self) -> list[str]:
        named = any(line.voice_names for line in self.lines)
        return [_("Your voice names another player: it waits.")] if named else []

    def _balance(self) -> list[str]:
        if self.fixes > MOST_FIXES:
            words = _("%(count)s corrections: more than three rarely stick.")
            return [words % {"count": self.fixes}]
        if self.fixes and self.did_it < DID_IT_PER_FIX * self.fixes:
            return [_("Two “did it” for each “not yet” is a good habit.")]
        return []


@dataclass
class Check:
    """The drafts that one coach sends from one film."""

    film: Film
    pages: list[Page]
    without: list[Entry]
    comments: list[Comment]

    @property
    def lacking(self) -> int:
        """How many drafts lack their "Next time"."""
        return sum(comment.lacks_answer for comment in self.comments)

    @property
    def ready(self) -> list[Page]:
        """Players to whom something can go."""
        return [page for page in self.pages if page.sendable]

    @property
    def waiting(self) -> list[Page]:
        return [page for page in self.pages if not page.sendable]


def readers_of(found: Standing, author: Any) -> list[str]:
    """Who will read it, as the coach knows them: player, guardians or second adult, coach."""
    behind = []
    for row in found.guardianships:
        who = f" ({row.relationship})" if row.relationship else ""
        behind.append(f"{row.user.full_name}{who}")
    for adult in found.second_adults[:1]:
        behind.append(_("%(name)s for the club") % {"name": adult.full_name})
    return [found.player.first_name, *behind, coach_name(author)]


def check(film: Film, author: Any) -> Check:
    """The author's drafts of `film`, and those handed over to him, per player, in a fixed number of
    queries."""
    drafts = Comment.objects.to_send_by(author).of_film(film)
    comments = list(
        drafts.select_related(
            "skill", "author", "drawing", "voice", "film__squad__season__club", "film__event"
        )
        .prefetch_related("players__user")
        .order_by("start_ms", "pk")
    )
    addressed = [player for comment in comments for player in comment.players.all()]
    entries = roster.roster(film, extra=addressed)
    by_player = wording.entries_by_player(entries)
    club = film.squad.season.club
    stands = standing.standing_of(addressed, club=club, author=author)
    authors: dict[UUID, set[UUID | None]] = defaultdict(set)
    for comment in comments:
        for player in comment.players.all():
            authors[player.pk].add(comment.author_id)
    told = set(Delivery.objects.standing().of_film(film).values_list("player_id", flat=True))
    now = timezone.now()
    pages: dict[UUID, Page] = {}
    for comment in comments:
        for player in comment.players.all():
            found = stands[player.pk].without(*authors[player.pk])
            if player.pk not in pages:
                later = not_before(player, club, now) if player.user_id else now
                pages[player.pk] = Page(
                    by_player[player.pk],
                    found,
                    readers_of(found, author),
                    later if later > now else None,
                )
            pages[player.pk].lines.append(_line(comment, player.pk, by_player))
    return Check(
        film,
        [pages[entry.player.pk] for entry in entries if entry.player.pk in pages],
        [entry for entry in entries if entry.player.pk not in pages.keys() | told],
        comments,
    )


def _line(comment: Comment, player_id: UUID, entries: dict[UUID, Entry]) -> Line:
    addressed = list(comment.players.all())
    player = next(one for one in addressed if one.pk == player_id)
    happened, do_instead = wording.words_for(comment, player, addressed, entries)
    names, suggestion = suggested(
        comment, roster.named_except(entries.values(), *(one.pk for one in addressed))
    )
    return Line(
        comment,
        happened,
        do_instead,
        names,
        suggestion,
        keeping.voice_of(comment),
        keeping.names_of(comment, list(entries.values())),
    )


def suggested(comment: Comment, others: Sequence[Named]) -> tuple[list[str], str]:
    """The names of other roster players in a draft, and its words without them."""
    both = (comment.happened, comment.do_instead, *drawings.texts_of(comment))
    found = [mention.words for text in both for mention in naming.find(text, others, careful=True)]
    if not found:
        return [], ""
    masked = " / ".join(naming.mask(text, others, careful=True) for text in both if text)
    return list(dict.fromkeys(found)), masked


@dataclass
class Receipt:
    """What one player was sent, and who was told by mail."""

    player: Player
    verdicts: list[str]
    told: list[Message]


def last_sending(film: Film, author: Any) -> list[Receipt]:
    """What the coach's last sending of `film` did, by player."""
    mine = Delivery.objects.filter(comment__in=Comment.objects.sent_by(author).of_film(film))
    last = mine.order_by("-sent_at").values_list("comment__sending", flat=True).first()
    if last is None:
        return []
    rows = mine.filter(comment__sending=last).select_related("comment", "player__user")
    told = list(
        Message.objects.filter(key__startswith=f"notice:{last}:")
        .select_related("recipient")
        .order_by("created_at")
    )
    receipts: dict[UUID, Receipt] = {}
    guardians = Guardianship.objects.current().filter(player__in=rows.values("player"))
    behind = {(row.user_id, row.player_id) for row in guardians}
    for row in rows.order_by("player__first_name", "player__last_name", "comment__start_ms"):
        if row.player_id not in receipts:
            mails = [
                mail
                for mail in told
                if mail.recipient_id == row.player.user_id
                or (mail.recipient_id, row.player_id) in behind
                or mail.player_id == row.player_id
            ]
            receipts[row.player_id] = Receipt(row.player, [], mails)
        receipts[row.player_id].verdicts.append(row.comment.verdict)
    return list(receipts.values())

"""The words of one delivery: those of the comment, without the other addressees."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from devplans.feedback import naming
from devplans.feedback.models import Comment
from devplans.feedback.naming import Named
from devplans.feedback.roster import Entry
from devplans.people.models import Player


def entries_by_player(entries: Iterable[Entry]) -> dict[UUID, Entry]:
    return {entry.player.pk: entry for entry in entries}


def names_of(player: Player, entries: Mapping[UUID, Entry]) -> Named:
    """Name and numbers of `player`, also of one who is no longer on the roster."""
    entry = entries.get(player.pk)
    return entry.named if entry else Named(player.first_name, player.last_name)


def words_for(
    comment: Comment, player: Player, addressed: Iterable[Player], entries: Mapping[UUID, Entry]
) -> tuple[str, str]:
    """(happened, do_instead) as `player` and his family read them."""
    others = tuple(names_of(one, entries) for one in addressed if one.pk != player.pk)
    own = names_of(player, entries)
    return (
        naming.mask(comment.happened, others, keep=own),
        naming.mask(comment.do_instead, others, keep=own),
    )

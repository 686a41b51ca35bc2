"""Small things about one suggestion that several services do."""

from django.utils import timezone

from devplans.talkthrough.models import Suggestion


def touch(suggestion: Suggestion, *fields: str) -> None:
    suggestion.touched_at = timezone.now()
    suggestion.save(update_fields=[*fields, "touched_at", "updated_at"])


def is_certain(suggestion: Suggestion) -> bool:
    """Is nothing left to ask or to write, so that it may be accepted with others in one go?"""
    if suggestion.unsure or suggestion.skill_id is None or suggestion.lacks_answer:
        return False
    return bool(suggestion.players.all())


def settle(suggestion: Suggestion, key: str) -> None:
    """Those who were offered with `key` for the same words were not meant."""
    with_key = [e for e in suggestion.heard if not e["sure"] and key in e["players"]]
    beside = {other for entry in with_key for other in entry["players"]}
    for entry in with_key:
        entry.update(players=[key], sure=True)
    elsewhere = {other for e in suggestion.heard if not e["sure"] for other in e["players"]}
    gone = (beside - elsewhere) | {key} if with_key else set(suggestion.unsure)
    suggestion.unsure = [one for one in suggestion.unsure if one not in gone]

"""What a phone may send, read strictly: a number in quotation marks is not a number."""

from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext_lazy as _
from rest_framework import serializers

from devplans.workouts.after.reading import near_players
from devplans.workouts.content import (
    LONGEST_TEXT,
    MOST_COUNTED,
    MOST_MINUTES,
    MOST_SECONDS,
    MOST_SETS,
    MOST_SHOTS,
    Content,
    SetContent,
    ShotContent,
)
from devplans.workouts.models import Workout, WorkoutSet

# The court's own lines are drawn later; this only keeps numbers that no database holds out.
FAR_MM = 1_000_000
MOST_REVISIONS = 2**53 - 1


class WholeNumber(serializers.IntegerField):
    default_error_messages = {"invalid": _("A whole number is needed.")}

    def to_internal_value(self, value: Any) -> int:
        if isinstance(value, str):
            self.fail("invalid")
        return super().to_internal_value(value)


class Count(WholeNumber):
    """None or a number from 0 up."""

    def __init__(self, *, most: int = MOST_COUNTED, **more: Any) -> None:
        super().__init__(min_value=0, max_value=most, allow_null=True, default=None, **more)


class YesNo(serializers.BooleanField):
    def to_internal_value(self, value: Any) -> bool:
        if not isinstance(value, bool):
            self.fail("invalid", input=value)
        return value


class Key(serializers.UUIDField):
    default_error_messages = {"invalid": _("A UUID is needed.")}

    def to_internal_value(self, value: Any) -> Any:
        if not isinstance(value, str):
            self.fail("invalid")
        return super().to_internal_value(value)


class Text(serializers.CharField):
    def to_internal_value(self, value: Any) -> str:
        if not isinstance(value, str):
            self.fail("invalid")
        return super().to_internal_value(value)


class Choice(serializers.ChoiceField):
    default_error_messages = {"invalid_choice": _("This is not one of the choices.")}


class Instant(serializers.DateTimeField):
    """A time with its offset; without one it could be anybody's afternoon."""

    default_error_messages = {"naive": _("The time needs its offset, like 2026-11-20T17:30:00Z.")}

    def to_internal_value(self, value: Any) -> datetime:
        if not isinstance(value, str):
            self.fail("invalid", format="YYYY-MM-DDThh:mm:ssZ")
        try:
            found = parse_datetime(value)
        except ValueError:
            found = None
        if found is not None and timezone.is_naive(found):
            self.fail("naive")
        return super().to_internal_value(value)


class SetSerializer(serializers.Serializer):
    id = Key()
    drill = Text(max_length=60)
    side = Choice(choices=WorkoutSet.Side.choices, default=WorkoutSet.Side.NONE)
    made = Count()
    tried = Count()
    reps = Count()
    seconds = Count(most=MOST_SECONDS)


class ShotSerializer(serializers.Serializer):
    id = Key()
    set = Key(allow_null=True, default=None)
    x_mm = WholeNumber(min_value=-FAR_MM, max_value=FAR_MM)
    y_mm = WholeNumber(min_value=-FAR_MM, max_value=FAR_MM)
    made = YesNo()


class WorkoutSerializer(serializers.Serializer):
    """One workout as the phone tells it, whole. Sets and shots keep their order."""

    id = Key(read_only=True)
    player = Key()
    revision = WholeNumber(min_value=1, max_value=MOST_REVISIONS)
    started_at = Instant()
    minutes = Count(most=MOST_MINUTES)
    effort = Count(most=10)
    kind = Choice(choices=Workout.Kind.choices, default=Workout.Kind.OWN)
    pain = Text(max_length=LONGEST_TEXT, allow_blank=True, default="")
    note = Text(max_length=LONGEST_TEXT, allow_blank=True, default="")
    sets = SetSerializer(many=True, max_length=MOST_SETS, default=list)
    shots = ShotSerializer(many=True, max_length=MOST_SHOTS, default=list)

    def to_representation(self, workout: Workout) -> dict[str, Any]:
        """By hand: a workout may hold two thousand shots."""
        content = workout.content()
        return {
            "id": str(workout.pk),
            "player": str(content.player),
            "revision": workout.revision,
            "started_at": self.fields["started_at"].to_representation(content.started_at),
            "minutes": content.minutes,
            "effort": content.effort,
            "kind": content.kind,
            "pain": content.pain if self._reads_words(workout) else None,
            "note": content.note,
            "sets": [vars(one) for one in content.sets],
            "shots": [vars(one) for one in content.shots],
        }

    def _reads_words(self, workout: Workout) -> bool:
        """Words of pain are for family and coaches; null for a mere office. Asked once a page."""
        request = self.context.get("request")
        if not workout.pain or request is None:
            return True
        if "near" not in self.context:
            self.context["near"] = near_players(request.user)
        return workout.player_id in self.context["near"]

    def problems(self) -> dict[str, Any]:
        """The errors per field; those of sets and shots as a list with one mapping for each."""
        found = dict(self.errors)
        for name in {"sets", "shots"} & found.keys():
            wrong = found[name]
            if "non_field_errors" in wrong:
                found[name] = wrong["non_field_errors"]
            elif isinstance(wrong, dict):
                found[name] = [
                    wrong.get(place, {}) for place in range(len(self.initial_data[name]))
                ]
        return found

    def content(self) -> Content:
        """What was sent, parsed, with its defaults filled in. Call `is_valid` first."""
        facts = {k: v for k, v in self.validated_data.items() if k != "revision"}
        sets = tuple(SetContent(**one) for one in facts.pop("sets"))
        shots = tuple(ShotContent(**one) for one in facts.pop("shots"))
        return Content(**facts, sets=sets, shots=shots)

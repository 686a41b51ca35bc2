from datetime import timedelta

from django.db import migrations
from django.utils import timezone

STILL_OPEN_FOR = timedelta(days=14)


def open_recent(apps, schema_editor):
    """What was said to hurt in the last two weeks waits for an answer too."""
    workouts = apps.get_model("workouts", "Workout")
    answers = apps.get_model("workouts", "PainAnswer")
    since = timezone.now() - STILL_OPEN_FOR
    said = workouts.objects.filter(deleted_at=None, started_at__gte=since).exclude(pain="")
    for workout in said.iterator():
        answers.objects.create(
            player_id=workout.player_id,
            workout=workout,
            said=workout.pain,
            said_at=workout.updated_at,
            said_by_id=workout.logged_by_id,
        )


class Migration(migrations.Migration):
    dependencies = [("workouts", "0002_after_a_workout")]

    operations = [migrations.RunPython(open_recent, migrations.RunPython.noop)]

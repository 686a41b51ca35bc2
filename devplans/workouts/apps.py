from django.apps import AppConfig


class WorkoutsConfig(AppConfig):
    name = "devplans.workouts"
    label = "workouts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from devplans.workouts.weeks import rebuilding

        rebuilding.watch()

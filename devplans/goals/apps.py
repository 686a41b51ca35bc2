from django.apps import AppConfig


class GoalsConfig(AppConfig):
    name = "devplans.goals"
    label = "goals"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from devplans.goals.feed import leaving

        leaving.watch()

from django.apps import AppConfig


class TalliesConfig(AppConfig):
    name = "devplans.tallies"
    label = "tallies"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from devplans.tallies import rebuilding

        rebuilding.watch()

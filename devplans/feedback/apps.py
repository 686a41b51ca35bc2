from django.apps import AppConfig


class FeedbackConfig(AppConfig):
    name = "devplans.feedback"
    label = "feedback"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from devplans.feedback.voices import files

        files.watch()

from django.apps import AppConfig


class FeedbackConfig(AppConfig):
    name = "devplans.feedback"
    label = "feedback"
    default_auto_field = "django.db.models.BigAutoField"

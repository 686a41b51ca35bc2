from django.apps import AppConfig


class ProgressConfig(AppConfig):
    name = "devplans.progress"
    label = "progress"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class ThreadsConfig(AppConfig):
    name = "devplans.threads"
    label = "threads"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class GoalsConfig(AppConfig):
    name = "devplans.goals"
    label = "goals"
    default_auto_field = "django.db.models.BigAutoField"

from django.apps import AppConfig


class ScheduleConfig(AppConfig):
    name = "devplans.schedule"
    label = "schedule"
    default_auto_field = "django.db.models.BigAutoField"

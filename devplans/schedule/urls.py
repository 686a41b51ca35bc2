from django.urls import path

from devplans.schedule import views

app_name = "schedule"
urlpatterns = [
    path("", views.calendar, name="calendar"),
    path("squads/<uuid:squad_id>/", views.calendar, name="calendar"),
    path("squads/<uuid:squad_id>/add/", views.event_add, name="event-add"),
    path("dates/<uuid:event_id>/edit/", views.event_edit, name="event-edit"),
    path("dates/<uuid:event_id>/cancel/", views.event_cancel, name="event-cancel"),
    path("dates/<uuid:event_id>/restore/", views.event_restore, name="event-restore"),
]

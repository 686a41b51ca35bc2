from django.urls import path

from devplans.workouts import views
from devplans.workouts.after.urls import urlpatterns as after_urls
from devplans.workouts.attendance.urls import urlpatterns as attendance_urls
from devplans.workouts.shooting.urls import urlpatterns as shooting_urls

app_name = "workouts"
urlpatterns = [
    path("of/<uuid:player_id>/", views.workout_list, name="list"),
    path("of/<uuid:player_id>/log/", views.log, name="log"),
    path("squads/<uuid:squad_id>/log/", views.group, name="group"),
    path("of/<uuid:player_id>/type-in/", views.type_in, name="type-in"),
    path("<uuid:workout_id>/", views.workout, name="workout"),
    path("<uuid:workout_id>/edit/", views.workout_edit, name="edit"),
    path("<uuid:workout_id>/delete/", views.workout_delete, name="delete"),
    *after_urls,
    *attendance_urls,
    *shooting_urls,
]

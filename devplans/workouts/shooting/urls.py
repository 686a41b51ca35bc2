from django.urls import path

from devplans.workouts.shooting import views

urlpatterns = [
    path("of/<uuid:player_id>/shots/", views.shots, name="shots"),
    path("of/<uuid:player_id>/shots.csv", views.shots_csv, name="shots-csv"),
]

from django.urls import path

from devplans.workouts import views

app_name = "workouts"
urlpatterns = [
    path("<uuid:workout_id>/", views.workout, name="workout"),
]

from django.urls import path

from devplans.workouts.after import views

urlpatterns = [
    path("answers/<uuid:pain_id>/", views.pain, name="pain"),
    path("answers/<uuid:pain_id>/answer/", views.pain_answer, name="pain-answer"),
    path("answers/", views.before_practice, name="before-practice"),
    path("answers/yours/", views.for_office, name="pain-for-office"),
    path("of/<uuid:player_id>/elsewhere/<str:week>/", views.elsewhere, name="elsewhere"),
    path("<uuid:workout_id>/how-hard/", views.how_hard, name="how-hard"),
    path("squads/<uuid:squad_id>/hours/", views.squad_hours, name="squad-hours"),
]

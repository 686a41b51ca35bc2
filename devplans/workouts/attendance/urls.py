from django.urls import path

from devplans.workouts.attendance import views

urlpatterns = [path("dates/<uuid:event_id>/who/", views.attendance, name="attendance")]

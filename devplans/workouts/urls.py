from django.urls import URLPattern

app_name = "workouts"
urlpatterns: list[URLPattern] = []

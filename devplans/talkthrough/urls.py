from django.urls import URLPattern

app_name = "talkthrough"
urlpatterns: list[URLPattern] = []

from django.urls import path

from portal.home import views

app_name = "home"
urlpatterns = [
    path("", views.home, name="home"),
]

from django.urls import path

from portal.home import views

app_name = "home"
urlpatterns = [
    path("", views.home, name="home"),
    path("coach/", views.waiting, name="waiting"),
    path("today/", views.today, name="today"),
    path("family/", views.family, name="family"),
    path("club/", views.club, name="club"),
]

from django.urls import include, path

from portal import health

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("", include("portal.home.urls")),
    path("", include("portal.pwa.urls")),
    path("accounts/", include("portal.accounts.urls")),
    path("people/", include("devplans.people.urls")),
    path("catalogue/", include("devplans.catalogue.urls")),
    path("calendar/", include("devplans.schedule.urls")),
    path("films/", include("devplans.film.urls")),
    path("feedback/", include("devplans.feedback.urls")),
    path("tallies/", include("devplans.tallies.urls")),
    path("talk/", include("devplans.talkthrough.urls")),
    path("workouts/", include("devplans.workouts.urls")),
    path("goals/", include("devplans.goals.urls")),
    path("progress/", include("devplans.progress.urls")),
    path("digests/", include("devplans.digests.urls")),
    path("demo/", include("portal.demo.urls")),
    path("api/v1/", include("portal.api")),
]

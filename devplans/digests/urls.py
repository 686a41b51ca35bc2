from django.urls import path

from devplans.digests import views

app_name = "digests"
urlpatterns = [
    path("", views.archive, name="archive"),
    path("preview/", views.preview, name="preview"),
    path("preview/letter/", views.preview_letter, name="preview-letter"),
    path("stop/<str:token>/", views.unsubscribe, name="unsubscribe"),
    path("<uuid:digest_id>/", views.page, name="page"),
    path("<uuid:digest_id>/letter/", views.letter, name="letter"),
]

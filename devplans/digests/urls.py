from django.urls import path

from devplans.digests.views import archive as views
from devplans.digests.views import opened

app_name = "digests"
urlpatterns = [
    path("", views.archive, name="archive"),
    path("preview/", views.preview, name="preview"),
    path("preview/letter/", views.preview_letter, name="preview-letter"),
    path("stop/<str:token>/", views.unsubscribe, name="unsubscribe"),
    path("open/<str:token>/", opened.page, name="open"),
    path("open/<str:token>/end/", opened.end, name="open-end"),
    path("<uuid:digest_id>/", views.page, name="page"),
    path("<uuid:digest_id>/letter/", views.letter, name="letter"),
    path("<uuid:digest_id>/link/end/", views.end_link, name="link-end"),
]

from django.urls import path, re_path

from devplans.film.uploads import views

UPLOAD = r"(?P<pk>[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})"
urlpatterns = [
    path("uploads/", views.Uploads.as_view(), name="upload-list"),
    # Clients come with and without the slash at the end.
    re_path(rf"^uploads/{UPLOAD}/?$", views.OneUpload.as_view(), name="upload-detail"),
]

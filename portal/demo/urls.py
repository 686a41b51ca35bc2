from django.urls import path

from portal.demo import views

app_name = "demo"
urlpatterns = [
    path("mails/", views.mails, name="mails"),
    path("mails/<uuid:message_id>/", views.mail, name="mail"),
    path("mails/<uuid:message_id>/letter/", views.letter, name="letter"),
]

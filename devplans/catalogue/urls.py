from django.urls import path

from devplans.catalogue import views

app_name = "catalogue"
urlpatterns = [
    path("", views.catalogue_list, name="list"),
    path("clubs/<uuid:club_id>/skills/add/", views.skill_add, name="skill-add"),
    path("clubs/<uuid:club_id>/drills/add/", views.drill_add, name="drill-add"),
    path("skills/<uuid:skill_id>/edit/", views.skill_edit, name="skill-edit"),
    path("skills/<uuid:skill_id>/retire/", views.skill_retire, name="skill-retire"),
    path("skills/<uuid:skill_id>/restore/", views.skill_restore, name="skill-restore"),
    path("drills/<uuid:drill_id>/edit/", views.drill_edit, name="drill-edit"),
    path("drills/<uuid:drill_id>/retire/", views.drill_retire, name="drill-retire"),
    path("drills/<uuid:drill_id>/restore/", views.drill_restore, name="drill-restore"),
]

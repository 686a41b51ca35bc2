from django.urls import URLPattern, path

from devplans.talkthrough.views import correcting, recording, transcripts, words

app_name = "talkthrough"
urlpatterns: list[URLPattern] = [
    path("films/<uuid:film_id>/", recording.over, name="over"),
    path("films/<uuid:film_id>/<uuid:talk_id>/", recording.begin, name="begin"),
    path("<uuid:talk_id>/takes/<int:number>/", recording.take, name="take"),
    path(
        "<uuid:talk_id>/takes/<int:number>/pieces/<int:piece_number>/",
        recording.piece,
        name="piece",
    ),
    path("<uuid:talk_id>/recorded/", recording.recorded, name="recorded"),
    path("<uuid:talk_id>/lines/", recording.lines, name="lines"),
    path("<uuid:talk_id>/delete/", recording.delete, name="delete"),
    path("films/<uuid:film_id>/talks/", correcting.film_talks, name="film"),
    path("films/<uuid:film_id>/transcript/", transcripts.transcript, name="transcript"),
    path(
        "films/<uuid:film_id>/transcript/accept/",
        transcripts.transcript_accept,
        name="transcript-accept",
    ),
    path("<uuid:talk_id>/correct/", correcting.correct, name="correct"),
    path("<uuid:talk_id>/correct/do/", correcting.do, name="do"),
    path(
        "<uuid:talk_id>/suggestions/<uuid:suggestion_id>/",
        correcting.suggestion_edit,
        name="edit",
    ),
    path("squads/<uuid:squad_id>/names/", words.names, name="names"),
    path(
        "squads/<uuid:squad_id>/names/<uuid:alias_id>/delete/",
        words.alias_delete,
        name="alias-delete",
    ),
    path("squads/<uuid:squad_id>/phrases/", words.phrase_add, name="phrase-add"),
    path(
        "squads/<uuid:squad_id>/phrases/<uuid:phrase_id>/delete/",
        words.phrase_delete,
        name="phrase-delete",
    ),
]

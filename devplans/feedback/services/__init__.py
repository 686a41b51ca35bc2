"""Writing comments, sending them, and what comes back."""

from devplans.feedback.services.answers import (
    ask,
    mark_seen,
    note_list_reading,
    note_reading,
    reply,
    require_may_write,
    say_understood,
)
from devplans.feedback.services.corrections import correct_comment, take_back
from devplans.feedback.services.drafts import (
    add_comment,
    delete_draft,
    drop_phrase,
    edit_comment,
    hold_back,
    keep_phrase,
    write_team_mate,
)
from devplans.feedback.services.handing_over import hand_over, hand_over_film, return_draft
from devplans.feedback.services.imports import import_comments, plan_import
from devplans.feedback.services.sending import NotSendable, send_comments, send_film

__all__ = [
    "NotSendable",
    "add_comment",
    "ask",
    "correct_comment",
    "delete_draft",
    "drop_phrase",
    "edit_comment",
    "hand_over",
    "hand_over_film",
    "hold_back",
    "import_comments",
    "keep_phrase",
    "mark_seen",
    "note_list_reading",
    "note_reading",
    "plan_import",
    "reply",
    "require_may_write",
    "return_draft",
    "say_understood",
    "send_comments",
    "send_film",
    "take_back",
    "write_team_mate",
]

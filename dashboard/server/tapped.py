"""What is tapped on the bench's own screen: an answer to the fact that is asked for. Pure.

It goes to the bench as a command. The screen shows it as taken only by the record that comes back.
"""

import json
from typing import Any, Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.pages.entry import answer_command
from barrelfit.dashboard.view.telling import answers_to
from barrelfit.dashboard.words import say

MOST: Final = 400


def tapped_command(
    board: Board, text: str, request: str, who: str = "", by: str = "board"
) -> tuple[dict[str, Any] | None, str]:
    """The command that a page's message means, or why there is none; both empty for anything else.

    Args:
        board: the bench as it is known now.
        text: the message, `{"do": "answer", "value": "…", "ask": 12}`.
        request: a new id.
        who: says it; without a name, who is at the bench.
        by: by which means (`rules.told.MEANS`).
    """
    try:
        wanted = json.loads(text[:MOST])
    except ValueError:
        return None, ""
    if not isinstance(wanted, dict) or wanted.get("do") != "answer":
        return None, ""
    asked = board.state.asked
    fact = next((f for f in board.facts_asked if f.at == board.place), None)
    if asked is None or fact is None or wanted.get("ask") != asked.event.ask:
        return None, say("asked_otherwise")
    value = str(wanted.get("value"))
    offered = dict(answers_to(fact))
    is_typed = by == "phone" and not fact.options and value.strip()
    if value not in offered and not is_typed:
        return None, ""
    who = who or board.operator
    if not who:
        return None, say("sign_on_first")
    command = answer_command(request, fact.at, value, asked.event.ask, who=who, unit=fact.unit)
    return {**command, "by": by}, ""

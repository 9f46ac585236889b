"""What is tapped on the bench's own screen: an answer to the fact that is asked for. Pure.

It goes to the bench as a command. The screen shows it as taken only by the record that comes back.
"""

import json
from typing import Any, Final

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.pages.entry import answer_command
from barrelfit.dashboard.words import say
from barrelfit.rules.engine.catalogue.nouns import LATER

MOST: Final = 400


def tapped_command(board: Board, text: str, request: str) -> tuple[dict[str, Any] | None, str]:
    """The command that a page's message means, or why there is none; both empty for anything else.

    Args:
        board: the bench as it is known now.
        text: the message, `{"do": "answer", "value": "…", "ask": 12}`.
        request: a new id.
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
    value = wanted.get("value")
    if value not in {*fact.options, LATER}:
        return None, ""
    if not board.operator:
        return None, say("sign_on_first")
    who = board.operator
    return answer_command(request, fact.at, value, asked.event.ask, who=who, unit=fact.unit), ""

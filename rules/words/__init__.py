"""The words of everything that the rules say: English texts by key, one table a room.

A text's placeholders are the names of the values that are said with its key (`rules.said`);
`{parts:and}` says how a list is joined. Another language is another set of tables.
"""

from typing import Final

from barrelfit.rules.words.bench import BENCH
from barrelfit.rules.words.checks import CHECKS
from barrelfit.rules.words.doubts import DOUBTS
from barrelfit.rules.words.engine import ENGINE
from barrelfit.rules.words.judge import JUDGE
from barrelfit.rules.words.match import MATCH
from barrelfit.rules.words.records import RECORDS

LISTS: Final = {
    "comma": ", ",
    "and": " and ",
    "or": " or ",
    "semicolon": "; ",
    "quoted": "', '",
    "none": "",
}
"""How the items of a list are joined, by the name that a placeholder gives."""

TABLES: Final = (CHECKS, ENGINE, JUDGE, MATCH, BENCH, RECORDS, DOUBTS)
ENGLISH: Final[dict[str, str]] = {key: text for table in TABLES for key, text in table.items()}

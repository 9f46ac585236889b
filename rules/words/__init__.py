"""The words of everything that the rules say: English texts by key.

What a rule, a feature or a movement says stands with it (`WORDS` of its file) and is gathered here;
what several say, and what is said of files, ports, sweeps, sets and records, has a table in this
folder. A text's placeholders are the names of the values that are said with its key (`rules.said`);
`{parts:and}` says how a list is joined. Another language is another set of tables.
"""

from typing import Final

from barrelfit.rules import checks
from barrelfit.rules.engine import catalogue
from barrelfit.rules.sweep import movements
from barrelfit.rules.words.bench import BENCH
from barrelfit.rules.words.compared import COMPARED
from barrelfit.rules.words.doubts import DOUBTS
from barrelfit.rules.words.edge import EDGE
from barrelfit.rules.words.engine import ENGINE
from barrelfit.rules.words.files import FILES
from barrelfit.rules.words.judge import JUDGE
from barrelfit.rules.words.match import MATCH
from barrelfit.rules.words.records import RECORDS
from barrelfit.rules.words.redo import REDO
from barrelfit.rules.words.wire import WIRE

LISTS: Final = {
    "comma": ", ",
    "and": " and ",
    "or": " or ",
    "semicolon": "; ",
    "quoted": "', '",
    "none": "",
}
"""How the items of a list are joined, by the name that a placeholder gives."""

TABLES: Final = (
    *(*checks.WORDS, *catalogue.WORDS, movements.WORDS),
    *(COMPARED, ENGINE, JUDGE, MATCH, BENCH, RECORDS, DOUBTS, FILES, EDGE, WIRE, REDO),
)
ENGLISH: Final[dict[str, str]] = {key: text for table in TABLES for key, text in table.items()}

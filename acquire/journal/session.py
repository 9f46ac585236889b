"""A recorded session as others read it: its records, what it was opened with, tables of it.

    Session.open("2026-11-25-bench1.jsonl").frame()          # readings, as a pandas DataFrame
    Session.open(path).frame("sizes")

Reading checks every line (see `acquire.journal.lines`): what comes out is what was written.
Whether the whole chain is the one that was published is `acquire.journal.verify`'s business.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.codec import Record
from barrelfit.acquire.journal.damage import CorruptError, Hole, UnreadableError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.parts import SUFFIX, JournalReader, Torn, is_part
from barrelfit.acquire.streams import is_standard, spooled_input
from barrelfit.rules.said import said

if TYPE_CHECKING:
    import pandas as pd

USUAL_FOLDER: Final = Path("~/.local/share/barrelfit")
INDEX_NAME: Final = "index.sqlite"


class Session:
    """A session's journal, open for reading; make it with `open`."""

    def __init__(self, path: Path, *, past_holes: bool = False) -> None:
        self.path = path
        self._past_holes = past_holes
        self.torn: list[Torn] = []
        self.holes: list[tuple[Path, Hole]] = []
        self.head_hash = ""

    @classmethod
    def open(cls, name: str | Path, *, past_holes: bool = False) -> "Session":
        """Find a session by its file, its folder (if it is alone there), or its name.

        Args:
            name: a path, or the name of a session in the usual folder.
            past_holes: whether what stands behind a hole is read too; `holes` then says what is
                gone. For looking at a record alone: sizes and verdicts rest on all of it.

        Raises:
            UserError: there is no such session, or several.
        """
        return cls(find_journal(name), past_holes=past_holes)

    def blocks(self) -> Iterator[list[Record]]:
        """All records in order, many at a time; a torn tail is left out and stands in `torn`.

        Raises:
            UserError: the journal is damaged or newer than this program; names file and line.
        """
        reader = JournalReader(self.path, RealDisk(), past_holes=self._past_holes)
        try:
            yield from reader.blocks()
        except (CorruptError, UnreadableError) as error:
            before = [
                said("of_file", file=str(file), what=hole.told) for file, hole in reader.holes
            ]
            raise UserError(
                [*before, said("of_file", file=str(reader.reading), what=error.what)]
            ) from None
        except OSError as error:
            raise UserError(
                [said("of_file", file=str(reader.reading), what=str(error.strerror))]
            ) from None
        self.torn, self.holes = reader.torn, reader.holes
        self.head_hash = reader.head.hash

    def records(self) -> Iterator[Record]:
        """All records in order, one by one."""
        for block in self.blocks():
            yield from block

    def opening(self) -> SessionOpened:
        """What the session was opened with.

        Raises:
            UserError: the journal does not begin with it.
        """
        first = next(self.records(), None)
        if first is None or not isinstance(first.event, SessionOpened):
            raise UserError([said("no_session_in_it", path=str(self.path))])
        return first.event

    def frame(self, table: str = "readings") -> "pd.DataFrame":
        """A table of the session: `readings`, `sizes`, `verdicts`, `facts` or `events`.

        Units are in the columns' names; a length stands there as exact text in mm and as whole
        nm; `utc` is a UTC timestamp of microseconds.

        Raises:
            UserError: no such table, or the journal can't be read.
        """
        from barrelfit.acquire.journal.tables import frame_of  # noqa: PLC0415  pandas only where it is needed

        return frame_of(self.records(), table)


def find_journal(name: str | Path) -> Path:
    """Path of a session's first journal file; `-` is a journal that comes on standard input.

    Raises:
        UserError: there is no such session, or a folder holds several.
    """
    if is_standard(name):
        return spooled_input(SUFFIX)
    given = Path(name).expanduser()
    here = [given, given.with_name(given.name + SUFFIX), USUAL_FOLDER.expanduser() / given]
    for path in (*here, here[2].with_name(given.name + SUFFIX)):
        if path.is_dir():
            return _only_one(path)
        if path.is_file():
            return _whole_of(path)
    raise UserError([said("session_unknown", name=str(name))])


def journals_in(folder: Path) -> list[Path]:
    """All sessions' journals in a folder, sorted by name; later parts are left out."""
    return sorted(p for p in folder.glob(f"*{SUFFIX}") if not is_part(p))


def _only_one(folder: Path) -> Path:
    found = journals_in(folder)
    if len(found) == 1:
        return found[0]
    what = said("count_sessions", count=len(found)) if found else said("no_session_there_is")
    raise UserError([said("name_one_file", folder=str(folder), what=what)])


def _whole_of(path: Path) -> Path:
    """The journal's first file, when a later part was named."""
    if is_part(path):
        return path.with_name(path.name.rsplit(".part", 1)[0] + SUFFIX)
    return path

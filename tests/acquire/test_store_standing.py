"""The index tells which sizes stand, also when an older version began it."""

from dataclasses import replace

from sqlalchemy import create_engine, select

from barrelfit.acquire.index.search import open_index
from barrelfit.acquire.index.store import Store, update
from barrelfit.acquire.index.tables import SIZES
from barrelfit.acquire.journal.session import INDEX_NAME
from barrelfit.rules.events import EntryMade, PedalPressed, Sized
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import Recording, opening
from tests.acquire.test_store import rewritten
from tests.spoken import text_of

FIRST, SECOND = FeatureId("P1", "skirt"), FeatureId("P2", "skirt")
WHO = "A. Smith"


def test_of_a_features_sizes_the_last_stands_and_none_that_was_taken_back(tmp_path):
    recording = Recording(tmp_path / "b3.jsonl", opening(session="b3"))
    for at, text in ((FIRST, "84.938"), (FIRST, "84.937"), (SECOND, "84.939")):
        recording.input(EntryMade(recording.t_ns, at, text, "mm", WHO))
    recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.close("stopped")
    store = Store(tmp_path / INDEX_NAME)
    assert update(store, tmp_path) == []
    rows = store.rows(select(SIZES).order_by(SIZES.c.seq))
    store.close()
    told = [(row["part"], row["size_nm"] // 1_000, row["stands"]) for row in rows]
    assert told == [("P1", 84_938, False), ("P1", 84_937, True), ("P2", 84_939, False)]


def test_an_index_of_the_version_before_goes_on_with_what_it_bears_witness_to(tmp_path):
    for number in (1, 2, 3):
        recording = Recording(tmp_path / f"b{number}.jsonl", opening(session=f"b{number}"))
        recording.input(EntryMade(recording.t_ns, FIRST, "84.938", "mm", WHO))
        recording.close("stopped")
    open_index(tmp_path, "", anew=False)[0].close()
    engine = create_engine(f"sqlite:///{tmp_path / INDEX_NAME}")
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE about SET schema = 1")
        connection.exec_driver_sql("ALTER TABLE sizes DROP COLUMN stands")
    engine.dispose()
    (tmp_path / "b2.jsonl").unlink()  # its journal is away

    def larger(event):
        return replace(event, size_nm=event.size_nm + 1) if isinstance(event, Sized) else event

    rewritten(tmp_path / "b3.jsonl", larger)
    grown, (problem,) = open_index(tmp_path, "", anew=False)
    assert "b3.jsonl: line" in text_of(problem)
    rows = grown.rows(select(SIZES.c.session, SIZES.c.stands).order_by(SIZES.c.session))
    grown.close()
    stands = [(row["session"], row["stands"]) for row in rows]
    assert stands == [("b1", True), ("b2", None), ("b3", None)]

"""Board and report draw the same clearances, intervals, limits and guard bands of one session."""

from importlib.metadata import version

import pytest

from barrelfit.acquire.inputs.set_now import folded
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.report.content import _pairs_drawn
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.set import set_view
from barrelfit.rules.manner import Manner
from barrelfit.rules.uncertainty.decide import guard_band_nm
from tests.acquire.recorded import Recording, opening
from tests.acquire.test_facts_recorded import typed_through


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    path = tmp_path_factory.mktemp("alike") / "bench1-20261125T010203Z.jsonl"
    recording = Recording(path, opening(code_version=version("barrelfit"), guard_factor=2.0))
    typed_through(recording)
    recording.close("done")
    return path


def test_board_and_report_draw_the_same(recorded):
    lines = session_lines(str(recorded))
    pairing = next(line for line in lines if line["kind"] == "pairing")
    seats = {f"{s['piston']}+{s['barrel']}": s for s in pairing["seats"]}
    drawn = dict(zip(seats, _pairs_drawn(lines, pairing["seats"], Manner()), strict=True))
    board = Board("bench1")
    board.following.state = folded(Session.open(recorded).records())[1]
    shown = {pair.pair: pair for pair in set_view(board, Shown()).clearances}
    assert len(drawn) == 4
    for about, pair in drawn.items():
        assert shown[about].ends == pair.ends
        assert pair.ends[0].limit_nm is not None
        u_nm = 1_000 * seats[about]["standard_uncertainty_um"]
        # The factor that the session was opened with, for a doubt that is known well (GUM, k u).
        assert pair.ends[0].guard_nm == pytest.approx(guard_band_nm(u_nm, 2.0), rel=0.05)
        assert pair.ends[0].guard_nm == pytest.approx(2.0 * u_nm, rel=0.05)

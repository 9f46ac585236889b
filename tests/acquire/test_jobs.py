"""Jobs of a bench whose file names no set: one session each, begun and ended at the board."""

import json
from dataclasses import replace

import pytest

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment
from barrelfit.acquire.bench.jobs import FILES_NAME_JOBS, Jobs, NextSession
from barrelfit.acquire.bench.open_session import open_next
from barrelfit.acquire.bench.opening import read_opening
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.link_file import BenchKeys
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.fold.handlers import take
from barrelfit.acquire.fold.state import SessionState
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.acquire.inputs.setup import ORDER, setup_of
from barrelfit.acquire.journal.events import SessionClosed, SessionResumed
from barrelfit.acquire.journal.job_events import BenchChanged, JobOrdered, JobPaused, SignedOn
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.report.from_session import session_lines
from barrelfit.dashboard.pages.entry import job_command, sign_on_command
from barrelfit.rules.bench.step import begin, step
from barrelfit.rules.engine.parts import Marks
from barrelfit.rules.events import Asked, EntryMade, PedalPressed, Reading
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactHeld, FactTold
from tests.acquire.daemon_parts import Ticks
from tests.spoken import text_of as spoken

MINUTE_NS = 60_000_000_000
SMITH = "A. Smith"
NEW = JobOrdered("new", SMITH, job="Miller, 7", sheet="flat-four-85", variant="early", group="II")


def text_of(port, digit="0.001"):
    return f"""schema = 1
bench = "stand"
sheet = "flat-four-85"
[[gauge]]
id = "m"
profile = "signed-decimal-cr"
port = "{port}"
measures = "outside"
movement = "following"
digit_mm = "{digit}"
"""


class Stand:
    """A bench without a set in its file: sessions are opened and ended as a daemon does it."""

    def __init__(self, folder, text):
        self.folder, self.clock = folder, Ticks()
        self.start(text)

    def start(self, text):
        """The daemon starts (again)."""
        waiting = read_opening(bench_file(text, "b"), text, "b", self.clock)
        keys = BenchKeys()
        door = Doorkeeper("stand", dict(keys.devices))
        self.keys, self.jobs = keys, Jobs(waiting, self.folder, self.clock, door)

    def open(self, wanted: NextSession):
        self.clock.now_ns += MINUTE_NS
        return open_next(wanted, self.folder, self.clock, self.keys, self.jobs)

    def run(self, wanted: NextSession, last=None):
        """Open a session and end it with a last word; gives its name."""
        session = self.open(wanted)
        session.recorder.close(last)
        return session.id

    def events(self, name):
        return [r.event for r in Session.open(self.folder / f"{name}.jsonl").records()]


@pytest.fixture
def stand(tmp_path, terminal):
    return Stand(tmp_path, text_of(terminal))


def test_without_a_job_a_bench_waits_and_says_so(stand):
    wanted = stand.jobs.at_start()
    assert wanted.resumed is None
    bench, found = begin(wanted.opening.setup)
    (asked,) = found
    assert isinstance(asked, Asked)
    assert (asked.at, asked.sentence.key) == (None, "no_job")
    at = FeatureId("P1", "skirt")
    for event in (
        Reading("m", 1, 84_900_000),
        PedalPressed(2, "next"),
        PedalPressed(3, "undo"),
        EntryMade(4, at, "84.92", "mm", SMITH),
        FactTold(5, FeatureId("", "group"), "II", who=SMITH),
    ):
        bench, found = step(bench, event)
        assert not any(isinstance(one, Asked) for one in found)
    assert isinstance(found[0], FactHeld)
    assert bench.asked is None


def test_a_new_job_is_a_session_with_the_whole_engine_in_it(stand):
    name = stand.run(stand.jobs.after(NEW))
    document = stand.events(name)[0]
    engine = setup_of(document).engine
    assert (document.job, document.who, engine.variant, engine.group) == (
        "Miller, 7", SMITH, "early", "II",
    )  # fmt: skip
    assert [p.id for p in engine.parts] == [f"{k}{n}" for k in "PBW" for n in range(1, 5)]
    assert engine.home_of("P3").id == "B3"
    assert engine.pin_of("P4").id == "W4"
    assert json.loads(document.settings[ORDER])["who"] == SMITH


def test_the_report_says_what_was_asked_for(stand):
    changed = {f: getattr(NEW, f) for f in NEW.__struct_fields__} | {"asked_for": "check all"}
    name = stand.run(stand.jobs.after(JobOrdered(**changed)), SessionClosed("stopped"))
    lines = session_lines(str(stand.folder / f"{name}.jsonl"))
    assert next(line for line in lines if line["kind"] == "session")["asked_for"] == "check all"
    waiting = stand.run(stand.jobs.without_job(), SessionClosed("stopped"))
    with pytest.raises(UserError, match="no job"):
        session_lines(str(stand.folder / f"{waiting}.jsonl"))


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"job": ""}, "reference"),
        ({"job": "x" * 81}, "reference"),
        ({"job": "a\nb"}, "can't be shown"),
        ({"sheet": "/etc/passwd"}, "no engine sheet"),
        ({"variant": "none"}, "not on"),
        ({"group": "IX"}, "no group"),
        ({"left_out": ("everything",)}, "can't be left out"),
    ],
    ids=str,
)
def test_what_is_no_job_is_refused_in_one_sentence(stand, changes, why):
    order = JobOrdered(**({f: getattr(NEW, f) for f in NEW.__struct_fields__} | changes))
    assert why in spoken(stand.jobs.problem(order, running=False))
    with pytest.raises(UserError):
        stand.jobs.after(order)


def test_a_job_asks_for_the_steps_that_are_ordered_and_for_no_others(stand):
    order = JobOrdered(
        **({f: getattr(NEW, f) for f in NEW.__struct_fields__} | {"steps": ["look"]})
    )
    opening = stand.jobs.after(order).opening
    assert opening.setup.engine.steps == ("look",)
    assert stand.jobs.after(NEW).opening.setup.engine.steps == ()
    strange = JobOrdered(
        **({f: getattr(NEW, f) for f in NEW.__struct_fields__} | {"steps": ["polish"]})
    )
    assert "polish" in spoken(stand.jobs.problem(strange, running=False))


def test_the_sheets_that_fit_the_parts_are_told(stand):
    setup = stand.jobs.after(NEW).opening.setup
    pistons = [replace(p, marks=Marks(size_nm=84_940_000)) for p in setup.engine.of_kind("piston")]
    engine = replace(setup.engine, parts=tuple(pistons))
    told = stand.jobs.told_of(stand.jobs.told(""), engine, [])
    (fits,) = [f for f in told.fits if f.outcome == "fits"]
    assert (fits.sheet, fits.variant) == ("flat-four-85", "early")


def test_a_job_is_paused_taken_up_again_and_closed(stand):
    first = stand.run(stand.jobs.after(NEW), JobPaused(SMITH))
    assert [p.job for p in stand.jobs.told("").paused] == ["Miller, 7"]
    second = stand.run(stand.jobs.after(NEW), JobPaused(SMITH))
    assert second != first
    up = JobOrdered("take-up", SMITH, session=first)
    assert stand.jobs.problem(up, running=False) is None
    again = stand.run(stand.jobs.after(up), SessionClosed("stopped"))
    assert again == first
    kinds = [type(event) for event in stand.events(first)]
    assert kinds[-3:] == [JobPaused, SessionResumed, SessionClosed]
    assert "no job that was paused" in spoken(stand.jobs.problem(up, running=False))
    assert [p.session for p in stand.jobs.told("").paused] == [second]


def test_after_a_power_cut_the_job_goes_on_and_no_other(stand, terminal):
    stand.run(stand.jobs.after(NEW), JobPaused(SMITH))
    cut = stand.run(stand.jobs.after(NEW))  # its record just ends
    stand.start(text_of(terminal))
    wanted = stand.jobs.at_start()
    assert wanted.resumed is not None
    assert stand.run(wanted, SessionClosed("stopped")) == cut
    stand.start(text_of(terminal))
    assert stand.jobs.at_start().resumed is None


def test_a_job_is_taken_up_by_a_bench_that_is_set_up_otherwise_since(stand, terminal):
    first = stand.run(stand.jobs.after(NEW), JobPaused(SMITH))
    stand.start(text_of(terminal, digit="0.002"))
    (paused,) = stand.jobs.told("").paused
    assert spoken(paused.changed) == "gauge m has another digit_mm"
    up = JobOrdered("take-up", SMITH, session=first)
    assert stand.jobs.problem(up, running=False) is None
    wanted = stand.jobs.after(up)
    assert wanted.opening.setup.gauges["m"].traits.digit_nm == 2_000
    assert stand.run(wanted, JobPaused(SMITH)) == first
    (changed,) = [e for e in stand.events(first) if isinstance(e, BenchChanged)]
    assert changed.config_text == text_of(terminal, digit="0.002")
    # and taken up once more, nothing has changed since
    again = stand.jobs.after(up)
    assert again.changed is None
    assert again.opening.setup.gauges["m"].traits.digit_nm == 2_000


def test_the_job_that_was_under_way_goes_on_when_the_bench_was_set_up_anew(stand, terminal):
    cut = stand.run(stand.jobs.after(NEW))  # its record just ends
    stand.start(text_of(terminal).replace('id = "m"', 'id = "other"'))
    wanted = stand.jobs.at_start()
    assert spoken(wanted.changed.changes) == "gauge m is gone; gauge other is new"
    assert stand.run(wanted, JobPaused(SMITH)) == cut


def test_what_was_left_open_before_other_sessions_does_not_come_back_by_itself(stand, terminal):
    cut = stand.run(stand.jobs.after(NEW))
    stand.clock.now_ns += 5 * MINUTE_NS
    stand.run(stand.jobs.without_job(), SessionClosed("stopped"))
    stand.start(text_of(terminal, digit="0.002"))
    assert stand.jobs.at_start().resumed is None
    # but it is offered, and may be taken up
    assert [p.session for p in stand.jobs.told("").paused] == [cut]
    assert stand.run(stand.jobs.after(JobOrdered("take-up", SMITH, session=cut))) == cut


def test_a_session_without_a_job_is_never_taken_up(stand):
    waiting = stand.run(stand.jobs.without_job())
    assert not stand.jobs.told("").paused
    up = JobOrdered("take-up", SMITH, session=waiting)
    assert "no job that was paused" in spoken(stand.jobs.problem(up, running=False))


def test_without_a_job_nothing_can_be_paused_or_closed(stand):
    for what in ("pause", "close"):
        assert (
            spoken(stand.jobs.problem(JobOrdered(what, SMITH), running=False))
            == "there is no job now"
        )
        assert stand.jobs.problem(JobOrdered(what, SMITH), running=True) is None


def test_no_path_leads_out_of_the_bench_s_own_sessions(stand, tmp_path):
    for session in ("../stand-20261125T010203Z", "/etc/passwd", "other-20261125T010203Z", ""):
        up = JobOrdered("take-up", SMITH, session=session)
        assert "no job that was paused here" in spoken(stand.jobs.problem(up, running=False))


# ---------------------------------------------------------------- orders from the board


def taken(command, problem, key=None):
    key = key or new_key()
    desk = CommandDesk(
        OverrideDesk("s", {}, lambda: "n"),
        Doorkeeper("b", {"board": key}),
        job_problem=problem,
    )
    payload = seal(key, "barrelfit/b/command", json.dumps(command).encode(), 9)
    return desk.take(payload, Moment(5, 9, 0.0), is_own=True)


def test_an_order_is_recorded_with_who_gave_it_where():
    command = job_command("1", "new", SMITH, job=" Miller ", sheet="s", variant="early")
    found = taken(command, lambda _: None)
    assert found.answer == {"id": "1", "ok": True}
    order = found.event
    assert (order.what, order.who, order.job, order.device) == ("new", SMITH, "Miller", "board")


def test_an_order_that_cannot_be_followed_is_answered_and_not_recorded():
    found = taken(job_command("1", "pause", SMITH), lambda _: FILES_NAME_JOBS)
    assert found.event is None
    assert found.answer["sentence"] == FILES_NAME_JOBS


def test_an_order_without_a_name_or_a_proof_is_none():
    assert taken(job_command("1", "pause", " "), lambda _: None).event is None
    desk = CommandDesk(
        OverrideDesk("s", {}, lambda: "n"),
        Doorkeeper("b", {"board": new_key()}),
        job_problem=lambda _: None,
    )
    forged = json.dumps(job_command("1", "close", SMITH)).encode()
    assert desk.take(forged, Moment(5, 9, 0.0), is_own=True).event is None


def test_who_is_at_the_bench_is_recorded_with_one_touch_and_hands_over():
    state = SessionState()
    for seq, who in enumerate((SMITH, "B. Jones", SMITH), start=1):
        event = taken(sign_on_command("1", who), lambda _: None).event
        assert event == SignedOn(who, "board")
        take(state, JustRecorded(seq, None, event))
    assert state.people == ["B. Jones", SMITH]
    assert taken(sign_on_command("1", " "), lambda _: None).event is None

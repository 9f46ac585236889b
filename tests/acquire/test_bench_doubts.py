"""Unusual values are asked about wherever they come in: bench file, live command, options."""

import json

import pytest

from barrelfit.acquire.bench.command_desk import CommandDesk, Moment, Taken
from barrelfit.acquire.bench.override_desk import OverrideDesk
from barrelfit.acquire.bus.proof import Doorkeeper, new_key, seal
from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.bench_file import bench_file
from barrelfit.dashboard.pages.entry import temperature_command
from barrelfit.rules.events import TemperatureTaken
from barrelfit.rules.manner import told as spoken
from tests.acquire.test_config import GOOD
from tests.spoken import problems_of

SETTING = 'setting = { standard = "ring-85", u_um = 0.8, repeat_um = 0.5 }\n'
USUAL = GOOD.replace(
    "[set]", "[temperature]\npart_c = 21.5\ngauge_c = 21.0\nroom_c = 20.5\n\n[set]"
).replace('movement = "following"\n', f'movement = "following"\nforce_n = 8\n{SETTING}')

# what is changed, the key that is asked about, what is asked
DOUBTS = [
    ("part_c = 21.5", "part_c = 68", "temperature.part_c", "68 °F would be 20 °C: which scale?"),
    ("gauge_c = 21.0", "gauge_c = 69.8", "temperature.gauge_c", "69.8 °F would be 21 °C"),
    ("room_c = 20.5", "room_c = 2.05", "temperature.room_c", "20.5 °C would be: decimal slip?"),
    ("u_um = 0.8", "u_um = 0.0008", "gauge[1].setting.u_um", "0.0008 mm would be: which unit?"),
    ("u_um = 0.8", "u_um = 80", "gauge[1].setting.u_um", "0.0008 mm would be: decimal slip?"),
    ("u_um = 0.8", "u_um = 0", "gauge[1].setting.u_um", "Is it meant so?"),
    ("repeat_um = 0.5", "repeat_um = 50", "gauge[1].setting.repeat_um", "decimal slip?"),
    ('id = "m"', 'id = "m"\ndigit_mm = "0.00001"', "gauge[1].digit_mm", "would be"),
    ('id = "m"', 'id = "m"\ndigit_mm = "0.1"', "gauge[1].digit_mm", "would be: decimal slip?"),
    ('id = "m"', 'id = "m"\nanvil_mm = "0.256"', "gauge[1].anvil_mm", "would be"),
    ("[set]", "[verdict]\nguard_factor = 0.165\n\n[set]", "verdict.guard_factor", "1.65 would be"),
    ("force_n = 8", "force_n = 80", "gauge[1].force_n", "8 N would be: decimal slip?"),
]


def told(tmp_path, text: str) -> tuple[str, ...]:
    path = tmp_path / "bench.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refused:
        load_bench(path)
    return problems_of(refused.value)


@pytest.mark.parametrize(("old", "new", "key", "asks"), DOUBTS)
def test_an_unusual_bench_file_is_asked_about_and_answered_in_it(tmp_path, old, new, key, asks):
    text = USUAL.replace(old, new, 1)
    assert text != USUAL
    (sentence,) = told(tmp_path, text)
    lines = enumerate(text.splitlines(), 1)
    line = next(n for n, one in lines if key.split(".")[-1] in one and str(one) not in USUAL)
    assert sentence.startswith(f"{tmp_path}/bench.toml:{line}: {key}: ")
    assert asks in sentence
    (tmp_path / "bench.toml").write_text(f'confirmed = ["{key}"]\n{text}', encoding="utf-8")
    assert load_bench(tmp_path / "bench.toml")[0].confirmed == (key,)


def test_a_usual_bench_file_is_run_and_several_doubts_are_told_at_once(tmp_path):
    (tmp_path / "bench.toml").write_text(USUAL, encoding="utf-8")
    load_bench(tmp_path / "bench.toml")
    both = USUAL.replace("part_c = 21.5", "part_c = 68").replace("u_um = 0.8", "u_um = 0.0008")
    assert len(told(tmp_path, both)) == 2


def test_a_recorded_bench_file_is_read_as_it_was_taken():
    assert bench_file(USUAL.replace("part_c = 21.5", "part_c = 68"), "bench file").bench == "stand"


def test_a_text_that_breaks_a_line_is_refused(tmp_path):
    (sentence,) = told(tmp_path, f'who = "R.\\nLead"\n{USUAL}')
    assert "who: holds a letter that can't be shown" in sentence
    assert "\n" not in sentence


class Desk:
    """A bench's command desk, with one screen that proves itself."""

    def __init__(self) -> None:
        self._key, self._now_ns = new_key(), 0
        doorkeeper = Doorkeeper("b", {"board": self._key})
        self._desk = CommandDesk(OverrideDesk("s", {}, lambda: "n"), doorkeeper)

    def send(self, milli: int, of: str = "part") -> Taken:
        self._now_ns += 1
        command = temperature_command(f"{self._now_ns}", of, f"{milli / 1000}", "Kim")
        payload = json.dumps(command).encode()
        sealed = seal(self._key, "barrelfit/b/command", payload, self._now_ns)
        return self._desk.take(sealed, Moment(self._now_ns, self._now_ns, 0.0), is_own=True)


def test_a_live_temperature_that_is_unusual_counts_when_it_is_sent_again():
    desk = Desk()
    taken = desk.send(68_000)
    assert (taken.answer["ok"], taken.answer["code"], taken.event) == (False, "doubt", None)
    assert "68 °F would be 20 °C: which scale?" in spoken(taken.answer["sentence"])
    assert desk.send(68_000, "gauge").event is None  # another one: asked about itself
    assert desk.send(68_000).event is None  # asked anew
    taken = desk.send(68_000)
    assert taken.answer["ok"]
    assert taken.event == TemperatureTaken(4, "part", 68_000, "Kim", "board")
    assert desk.send(21_500).event == TemperatureTaken(5, "part", 21_500, "Kim", "board")
    taken = desk.send(293_150)
    assert (taken.answer["code"], taken.event) == ("range", None)


U = ["--u-um", "0.4"]
ROUNDS = "standard_mm,round,reading_mm\n84.0003,1,84.001\n84.0003,2,84.000\n84.0003,3,84.002\n"


@pytest.mark.parametrize(
    ("rows", "options", "asks"),
    [
        (ROUNDS, ["--u-um", "0.0004"], "--u-um: is 0.0004 µm"),
        (ROUNDS, [*U, "--digit-mm", "1"], "--digit-mm: is 1 mm"),
        (
            ROUNDS.replace("84.002", "8.4002"),
            ["--u-um", "0.4"],
            "84.002 mm would be: decimal slip?",
        ),
        (
            ROUNDS.replace("84.002", "3.3072"),
            ["--u-um", "0.4"],
            "3.3072 inch would be: which unit?",
        ),
        (ROUNDS.replace("84.002", "48.002"), U, "two digits swapped?"),
    ],
)
def test_a_gauges_study_asks_about_slips(tmp_path, capsys, rows, options, asks):
    path = tmp_path / "ring.csv"
    path.write_text(rows, encoding="utf-8")
    command = ["setting", str(path), "--standard", "ring-84", *options]
    assert run_cli(command) == 2
    assert asks in capsys.readouterr().err
    assert run_cli([*command, "--sure"]) in {0, 1}


@pytest.mark.parametrize(
    ("options", "asks"),
    [
        (["--part-temp", "68"], "--part-temp: is 68 °C"),
        (["--gauge-temp", "68"], "--gauge-temp: is 68 °C"),
        (["--digit-mm", "0.1"], "--digit-mm: is 0.1 mm"),
        (["--anvil-mm", "0.25"], "--anvil-mm: is 0.25 mm"),
    ],
)
def test_a_sweeps_options_are_asked_about(tmp_path, capsys, options, asks):
    path = tmp_path / "sweep.csv"
    path.write_text("t_s,reading_mm\n0.0,84.0\n0.1,84.0\n", encoding="utf-8")
    command = ["size", str(path), "--gauge", "following", "--material", "light-alloy", *options]
    assert run_cli(command) == 2
    assert asks in capsys.readouterr().err
    assert run_cli([*command, "--sure"]) == 1  # no sweep, and no question

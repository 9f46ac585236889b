"""The bench file: every mistake at once, each with its line; exact lengths; nothing unknown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.bench_file import bench_file, nm_of_mm
from tests.spoken import problems_of

GOOD = """\
schema = 1
bench = "stand"
sheet = "flat-four-85"

[set]
job = "j-1"
variant = "early"

[[gauge]]
id = "m"
profile = "signed-decimal-cr"
port = "/dev/ttyUSB0"
measures = "outside"
movement = "following"

[[gauge]]
id = "b"
profile = "signed-decimal-cr"
port = "/dev/ttyUSB1"
measures = "bore"
movement = "bore"
"""


def test_how_long_another_program_may_hold_a_port_is_15_s_or_as_said():
    assert bench_file(GOOD, "bench.toml").busy_s == 15
    assert bench_file(f"busy_s = 0\n{GOOD}", "bench.toml").busy_s == 0
    for wrong in ("-1", "121", '"x"'):
        (sentence,) = problems(f"busy_s = {wrong}\n{GOOD}")
        assert "bench.toml:1: busy_s" in sentence


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(UserError) as refused:
        bench_file(text, "bench.toml")
    return problems_of(refused.value)


def test_a_good_one_is_read_with_its_defaults():
    bench = bench_file(GOOD, "bench.toml")
    assert (bench.bench, bench.set.job, len(bench.gauge)) == ("stand", "j-1", 2)
    assert bench.broker.embedded
    assert nm_of_mm(bench.gauge[0].digit_mm) == 1_000
    assert nm_of_mm(bench.gauge[0].anvil_mm) == 6_500_000
    assert bench.simulation is None


def test_all_mistakes_are_told_at_once_each_with_its_line():
    text = GOOD.replace('job = "j-1"', 'job = "j 1"').replace('"following"', '"sideways"')
    text = text.replace('port = "/dev/ttyUSB1"\n', "")
    found = problems(text)
    assert len(found) == 3
    assert any("bench.toml:6: set.job: use letters" in p for p in found)
    assert any(":14: gauge[1].movement" in p for p in found)
    assert any("gauge[2].port: missing; it has no default" in p for p in found)


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("schema = 1", "schema = 2", "newer than this barrelfit reads (1)"),
        ("schema = 1\n", "", "schema: missing"),
        ('bench = "stand"', 'bench = "a/b"', ":2: bench: use letters"),
        ('bench = "stand"', f'bench = "{41 * "x"}"', "at most 40"),
        ('id = "b"', 'id = "m"', "two gauges have the id 'm'"),
        ("ttyUSB1", "ttyUSB0", "two gauges have the port '/dev/ttyUSB0'"),
        ('movement = "bore"', 'movement = "screw"', "a gauge that measures bore has movement bore"),
        ('variant = "early"', 'variant = "early"\nfile = "x.toml"', "either file, or variant"),
        ('id = "m"', 'id = "m"\ndigit_mm = "0.0000001"', "not a whole number of nanometres"),
        ('id = "m"', 'id = "m"\ndigit_mm = 2', "must be at most 1"),
        ('id = "m"', f'id = "m"\nrange_mm = [0, 1{28 * "0"}]', "no gauge measures more than"),
        ('id = "m"', 'id = "m"\ndigit_mm = 0', "digit_mm"),
        ('id = "m"', 'id = "m"\ndigit_mm = nan', "digit_mm"),
        ('id = "m"', 'id = "m"\nrange_mm = [2, 1]', "the first length must be below the second"),
        ('id = "m"', 'id = "m"\npasses = 2', "passes"),
        ('id = "m"', 'id = "m"\ncolour = "red"', "gauge[1].colour: unknown key"),
        ("[set]", '[broker]\nhost = "10.0.0.7"\n[set]', "listens on 127.0.0.1 only"),
        ("[set]", '[board]\nlan_address = "bench"\n[set]', "board.lan_address"),
        ("[set]", "[board]\nlan_port = 0\n[set]", "board.lan_port"),
        ("[set]", "[broker]\nport = 70000\n[set]", "broker.port"),
        ("[set]", '[temperature]\npart_c = "warm"\n[set]', "temperature.part_c"),
        ("[set]", "[temperature]\npart_c = 400\n[set]", "temperature.part_c"),
        ("[set]", "[simulation]\nspeed = 0\n[set]", "simulation.speed"),
        ("[set]", "[verdict]\nguard_factor = inf\n[set]", "verdict.guard_factor"),
        ('id = "m"', 'id = "m"\nprofil = "x"', "gauge[1].profil: unknown key; is 'profile' meant?"),
        ("schema = 1", "schema = 1\nsceet = 1", "sceet: unknown key; is 'sheet' meant?"),
        ("[set]", "[brokr]\n[set]", "brokr: unknown key; is 'broker' meant?"),
        ("[set]", "[broker]\nhots = 'x'\n[set]", "broker.hots: unknown key; is 'host' meant?"),
        (
            'id = "m"',
            'id = "m"\nsetting = { u_um = 1, repeat_u = 1 }',
            "gauge[1].setting.repeat_u: unknown key; is 'repeat_um' meant?",
        ),
        (
            'movement = "following"',
            'movement = "held"\naverages_ms = 100',
            "averages_ms: not of a gauge that sends only on its button",
        ),
        ("[set]", "[set", "bench.toml:5: "),
    ],
)
def test_what_is_wrong_is_said(old, new, wanted):
    found = problems(GOOD.replace(old, new, 1))
    assert any(wanted in problem for problem in found), found
    assert all(problem.startswith("bench.toml") for problem in found)


def test_no_gauge_at_all_is_refused():
    found = problems(GOOD.split("[[gauge]]", maxsplit=1)[0])
    assert any("gauge: missing" in problem for problem in found)


@given(st.decimals(min_value="0.000001", max_value=60, places=6))
def test_millimetres_are_exact(mm):
    text = GOOD.replace('id = "m"', f'id = "m"\nanvil_mm = "{mm}"')
    assert nm_of_mm(bench_file(text, "b").gauge[0].anvil_mm) == int(mm.scaleb(6))


@given(st.text(max_size=200))
def test_any_text_is_a_bench_file_or_is_refused_in_sentences(text):
    assert all(problems(text))


@given(st.integers(0, len(GOOD) - 1), st.characters(codec="utf-8"))
def test_one_wrong_character_anywhere_is_read_or_refused(place, character):
    changed = GOOD[:place] + character + GOOD[place + 1 :]
    assert all(problem.startswith("bench.toml") for problem in refusals(changed))


def refusals(text: str) -> tuple[str, ...]:
    try:
        bench_file(text, "bench.toml")
    except UserError as error:
        return problems_of(error)
    return ()


def test_files_that_can_not_be_read_are_named(tmp_path):
    for path, says in (
        (tmp_path / "none.toml", "no such file"),
        (tmp_path, "Is a directory"),
    ):
        with pytest.raises(UserError) as refused:
            load_bench(path)
        assert str(path) in problems_of(refused.value)[0]
        assert says in problems_of(refused.value)[0]
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UserError) as refused:
        load_bench(binary)
    assert "not UTF-8" in problems_of(refused.value)[0]

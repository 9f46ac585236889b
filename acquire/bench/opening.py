"""Reads all that a bench file points at: what a session is opened with.

All problems are found before a port, a broker or a file is touched, and told together.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from getpass import getuser
from importlib.metadata import version
from typing import Final, TypeVar

import msgspec

from barrelfit.acquire.bench.ports import Ports
from barrelfit.acquire.clock import Clock, utc_text
from barrelfit.acquire.coded import said_of
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_file import BenchFile
from barrelfit.acquire.inputs.gauge_profiles import profile_text, proven_profile
from barrelfit.acquire.inputs.gauge_wire import profile_on_bench
from barrelfit.acquire.inputs.leads import Lead, leads_from
from barrelfit.acquire.inputs.people import load_people
from barrelfit.acquire.inputs.plain_set import plain_set_text
from barrelfit.acquire.inputs.set_file import check_materials, hash_photos, load_materials, sheet_of
from barrelfit.acquire.inputs.setup import MATERIALS, PHOTOS, setup_of
from barrelfit.acquire.inputs.shelf import file_text, sheet_text, shipped_text
from barrelfit.acquire.inputs.sign_in import SignIn, sign_in_from
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.job_events import GaugeSetup
from barrelfit.acquire.journal.recorder import Signer
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.profile import Profile
from barrelfit.rules.bench.setup import Setup
from barrelfit.rules.engine.sheet import Sheet
from barrelfit.rules.errors import RulesError
from barrelfit.rules.said import Said

T = TypeVar("T")

CODE_VERSION: Final = version("barrelfit")
AS_WRITTEN: Final = Ports()


@dataclass(frozen=True, slots=True)
class Opening:
    """A bench file whose every reference has been read and checked."""

    bench: BenchFile
    document: SessionOpened
    profiles: dict[str, Profile]
    setup: Setup
    leads: dict[str, Lead]
    people: dict[str, Lead]
    sign_in: SignIn | None
    signer: Signer | None = None
    ports: Ports = AS_WRITTEN

    def named(self, clock: Clock) -> "Opening":
        """The same for a session that begins now."""
        name = _session_name(self.bench.bench, clock)
        return replace(self, document=msgspec.structs.replace(self.document, session=name))


@dataclass(frozen=True, slots=True)
class _Texts:
    """Of sheet and set, the sheet read, and what else the session depends on, by name."""

    sheet_text: str
    set_text: str
    sheet: Sheet
    settings: dict[str, str]


def read_opening(
    bench: BenchFile,
    config_text: str,
    name: str,
    clock: Clock,
    ports: Ports = AS_WRITTEN,
) -> Opening:
    """Read everything a bench file points at.

    Args:
        bench: the checked bench file.
        config_text: its text.
        name: how messages call it.
        clock: for the session's name.
        ports: what is known of the gauges' ports beside the bench file.

    Raises:
        UserError: with every problem of profiles, sheet, set, materials and ports.
    """
    problems: list[Said] = []
    texts = _gather(problems, partial(_texts, bench, name))
    profiles: dict[str, Profile] = {}
    setups: dict[str, GaugeSetup] = {}
    for table in bench.gauge:
        text = _gather(problems, partial(profile_text, table.profile))
        plain = text and _gather(problems, partial(proven_profile, text, table.profile))
        profile = plain and _gather(problems, partial(profile_on_bench, plain, table))
        if text and profile:
            profiles[table.id] = profile
            movement = str(table.movement)
            setups[table.id] = GaugeSetup(table.profile, text, movement, movement, table.port)
    named = [(("gauge", n, "material"), table.material) for n, table in enumerate(bench.gauge)]
    _gather(problems, partial(check_materials, named, load_materials(), config_text, name))
    problems += ports.problems(bench)
    leads, sign_in = _gather(problems, partial(_leads, bench)) or ({}, None)
    people = _gather(problems, partial(load_people, bench.people)) or {}
    signer = _gather(problems, partial(_signer, bench))
    if problems or texts is None:
        raise UserError(problems)
    document = _document(bench, config_text, texts, setups, clock)
    setup = _gather(problems, partial(setup_of, document))
    if setup is None:
        raise UserError(problems)
    return Opening(bench, document, profiles, setup, leads, people, sign_in, signer, ports)


def _signer(bench: BenchFile) -> Signer | None:
    if bench.sign is None:
        return None
    from barrelfit.acquire.journal.signing import load_private_key, sign_head  # noqa: PLC0415  slow to load

    key, who = load_private_key(bench.sign.key.expanduser()), bench.sign.who
    return lambda head_hash: sign_head(key, head_hash, who)


def _texts(bench: BenchFile, name: str) -> _Texts:
    text = sheet_text(bench.sheet)
    sheet = sheet_of(text, bench.sheet)
    settings = {MATERIALS: shipped_text("rules", "data", MATERIALS)}
    if bench.set is None:
        return _Texts(text, "", sheet, settings)
    if bench.set.file is None:
        return _Texts(text, plain_set_text(bench.set, sheet, name), sheet, settings)
    written = file_text(bench.set.file)
    hashes = hash_photos(written, sheet, bench.set.file)
    if hashes:
        settings[PHOTOS] = msgspec.json.encode(hashes).decode()
    return _Texts(text, written, sheet, settings)


def _leads(bench: BenchFile) -> tuple[dict[str, Lead], SignIn | None]:
    if bench.leads is None:
        return {}, None
    text, name = file_text(bench.leads), str(bench.leads)
    leads = leads_from(text, name)
    sign_in, problems = sign_in_from(text, name)
    if problems:
        raise UserError(problems)
    return leads, sign_in


def _document(
    bench: BenchFile,
    config_text: str,
    texts: _Texts,
    setups: dict[str, GaugeSetup],
    clock: Clock,
) -> SessionOpened:
    return SessionOpened(
        session=_session_name(bench.bench, clock),
        bench=bench.bench,
        who=bench.who or getuser(),
        job=bench.set.job if bench.set is not None else "",
        code_version=CODE_VERSION,
        sheet_id=texts.sheet.id,
        sheet_revision=texts.sheet.revision,
        sheet_text=texts.sheet_text,
        set_text=texts.set_text,
        config_text=config_text,
        gauges=setups,
        guard_factor=float(bench.verdict.guard_factor),
        settings=texts.settings,
        simulated=bench.simulation is not None,
    )


def _session_name(bench: str, clock: Clock) -> str:
    compact = utc_text(clock.utc())[:19].replace("-", "").replace(":", "")
    return f"{bench}-{compact}Z"


def _gather(problems: list[Said], make: Callable[[], T]) -> T | None:
    """Make a thing, or collect what keeps it from being made."""
    try:
        return make()
    except DriverError as error:
        problems += map(said_of, error.problems)
    except (UserError, RulesError) as error:
        problems += error.problems
    return None

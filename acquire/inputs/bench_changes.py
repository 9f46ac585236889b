"""What is other about a bench than it was when a job was under way on it, in words. Pure."""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from barrelfit.acquire.inputs.shelf import parse_toml
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.job_events import BenchChanged
from barrelfit.rules.said import Said, said

Table = Mapping[str, Any]
KINDS = {"outside": said("outside_gauge"), "bore": said("bore_gauge")}


def same_bench(was: SessionOpened, now: SessionOpened) -> bool:
    """Whether bench file and profiles are the same."""
    return (was.config_text, was.gauges) == (now.config_text, now.gauges)


def bench_changed(was: SessionOpened, now: SessionOpened) -> BenchChanged | None:
    """The record of a bench that is set up otherwise; None where nothing is.

    Args:
        was: what the session was opened with, and what changed since.
        now: what a session of this bench is opened with now.
    """
    if same_bench(was, now):
        return None
    parts = tuple(_changes(was, now)) or (said("only_its_text"),)
    return BenchChanged(now.config_text, now.gauges, said("changes", parts=parts))


def with_bench(opened: SessionOpened, changed: BenchChanged) -> SessionOpened:
    """What a session depends on from there on: sheet, set and guard band stay its own."""
    return msgspec.structs.replace(opened, config_text=changed.config_text, gauges=changed.gauges)


def _changes(was: SessionOpened, now: SessionOpened) -> Iterator[Said]:
    files = [parse_toml(opened.config_text, "bench file") for opened in (was, now)]
    before, after = ({str(table["id"]): table for table in file["gauge"]} for file in files)
    yield from (said("gauge_is_gone", gauge=name) for name in before if name not in after)
    yield from (said("gauge_is_new", gauge=name) for name in after if name not in before)
    for name in (name for name in after if name in before):
        keys = _differ(before[name], after[name])
        same_text = was.gauges[name].profile_text == now.gauges[name].profile_text
        if not same_text and "profile" not in keys:
            keys.append("profile")
        if keys:
            yield said("gauge_is_other", gauge=name, keys=tuple(keys))
    keys = _differ(*({key: file[key] for key in file if key != "gauge"} for file in files))
    if keys:
        yield said("file_is_other", keys=tuple(keys))
    gone = _kinds(before) - _kinds(after)
    yield from (said("no_gauge_left", kind=KINDS[kind]) for kind in KINDS if kind in gone)


def _differ(was: Table, now: Table) -> list[str]:
    """The keys of a table that are other, or there in one of both alone."""
    return [key for key in dict.fromkeys((*was, *now)) if was.get(key) != now.get(key)]


def _kinds(tables: Mapping[str, Table]) -> set[str]:
    return {str(table["measures"]) for table in tables.values()}

"""A whole job, acted in a browser from a machine on which nothing was set up.

Two simulated gauges on pseudo-terminals, a hand that sweeps what the board asks for, and a person
who has nothing but the pages: set-up, new job, every step, report, the next job. Nobody writes a
file, nor types a command after the first.

`python -m tests.system.whole_job FOLDER` acts it and prints after how long each thing was there.
"""

import json
import os
import sys
import threading
import time
from pathlib import Path
from typing import Any, Self

import pytest

from barrelfit.acquire.demo import job
from barrelfit.dashboard.words import say
from tests.system.bench_rig import PYTHON, Child
from tests.system.board_browser import IN_PAGE, choose_first_session
from tests.system.board_rig import browser, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port

READS_S = 1.6
"""A person looks before they answer; an answer that comes sooner does not count."""
PERSON = "A. Person"
GAUGES = {"micrometer": "outside", "bore-gauge": "bore"}
STAYS_OUT = tuple(stays_out for stays_out, _ in job.LEAVES.values())
"""The leaves that must not go into a groove of the invented engine; the thinner ones do."""
TAPPED = {"kind": "iron-liner", "seal": "spigot", "head_seal": "spigot"}
TOLD = {
    **{mark: value for mark, (value, _) in job.TOLD.items() if mark != "number"},
    **{key: str(grams) for key, grams in job.LAID.items()},
    "height_group": "1",
}
"""What is read off the demonstration's parts; of other marks none is there."""
WAYS = ("good", "done", "none")
OFFERED = f"""() => [...(({IN_PAGE})('[data-id=picture]')?.querySelectorAll('.glove') || [])]
  .map(one => [Number(one.dataset.ask), one.dataset.value])"""


class Shop:
    """Gauges and hand, the one command, a browser.

    Args:
        folder: home of the person, empty.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.times: dict[str, float] = {}
        self._port = free_port()
        serve = (PYTHON, "-m", "barrelfit.simulators", "serve", "--scenario", "demo")
        self._hand = Child(*serve, "--link-dir", str(folder))
        wait_for(lambda: all((folder / name).exists() for name in GAUGES), "the gauges")
        self._began = time.monotonic()
        run = (PYTHON, "-m", "barrelfit.acquire", "run", "--json", "--board-port", str(self._port))
        home = {"HOME": str(folder), "PATH": os.environ["PATH"]}
        self._run = Child(*run, cwd=folder, env=home)
        self._eyes: Child | None = None
        self.asked: dict[str, Any] = {}
        self._typed: dict[str, Any] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for child in (self._run, self._eyes, self._hand):
            if child is not None:
                child.end()

    def tell(self, what: str) -> None:
        """Note after how long a thing was there."""
        self.times[what] = round(time.monotonic() - self._began, 1)
        sys.stderr.write(f"{self.times[what]:7.1f} s  {what}\n")

    def set_up(self, page: Any) -> None:
        """From the page that opens to a bench that waits for a job."""
        _, told = self._run.told("set_up")
        self._url = told["url"].split("?")[0].rstrip("/")
        page.goto(told["url"])
        for name in GAUGES:
            field = page.locator("input[aria-label^='Another port']")
            if not field.is_visible():
                page.get_by_text("Another port").first.click()
            field.fill(str(self.folder / name))
            field.press("Enter")
            page.get_by_text(str(self.folder / name)).first.wait_for()
        self.tell("set-up page")
        for part, gauge in (("P1", "micrometer"), ("B1", "bore-gauge")):  # it is moved
            feature = "skirt" if part == "P1" else "bore"
            place = {"depth": "middle", "direction": "thrust"} if part == "B1" else {}
            look = {"look": "asked", "part": part, "feature": feature, "gauge": gauge}
            self._hand.say({"depth": "", "direction": "", **look, **place})
            page.get_by_text("this one moves").nth(0 if part == "P1" else 1).wait_for()
        for number, (name, measures) in enumerate(GAUGES.items()):
            page.get_by_label("Name of the gauge").nth(number).fill(name)
            page.keyboard.press("Tab")
            for label, end in (("Range from, mm", "75"), ("Range to, mm", "100")):
                page.get_by_label(label).nth(number).fill(end)
                page.keyboard.press("Tab")
            if measures == "bore":
                page.get_by_text("bores", exact=False).nth(number).click()
        page.get_by_label("Your name").fill(PERSON)
        page.get_by_role("button", name="Save, and run").click()
        page.get_by_text("no job").first.wait_for()
        self.tell("bench runs")

    def begin_job(self, page: Any, reference: str) -> None:
        """A new job from the jobs page; the bench's page asks for its first thing."""
        begun = time.monotonic()
        page.goto(f"{self._url}/jobs?id=bench-1")
        page.get_by_role("radio", name="early", exact=True).click()
        page.get_by_role("radio", name="II", exact=True).click()
        page.get_by_label("The customer's reference").fill(reference)
        page.get_by_role("button", name="Begin it").click()
        page.get_by_text(f"Job {reference} runs").wait_for()
        self._job_begun = begun
        self.tell(f"job {reference} runs")

    def measure_at_once(self, page: Any, what: str) -> None:
        """P1's skirt before anything else: pointed at on the parts page."""
        page.goto(f"{self._url}/parts?id=bench-1")
        seen = len(self.looks)
        page.get_by_role("radio", name="P1", exact=True).click()
        page.get_by_role("radio", name="skirt", exact=True).click()
        page.get_by_role("button", name=say("measure_now")).click()
        sized = {"look": "sized", "part": "P1", "feature": "skirt"}
        wait_for(lambda: any(sized.items() <= one.items() for one in self.looks[seen:]), what)
        self.tell(what)
        self.times[f"from a new job to {what}"] = round(time.monotonic() - self._job_begun, 1)

    def watch(self) -> None:
        """Look at the board as the person and the hand do."""
        self._eyes = Child(PYTHON, "-m", "tests.system.board_eyes", str(self.sessions()))
        self.looks: list[dict[str, Any]] = []
        threading.Thread(target=self._show, daemon=True).start()

    def sessions(self) -> Path:
        """Where the bench keeps its sessions, wherever the set-up has put them."""
        found = next(self.folder.rglob("*.link"))
        return found.parent

    def _show(self) -> None:
        number = 0
        while self._eyes is not None:
            try:
                number, _, text = self._eyes.lines.find(lambda _: True, 3600.0, number)
            except BaseException:  # noqa: BLE001  the eyes have ended
                return
            number += 1
            look = json.loads(text)
            self.looks.append(look)
            self._hand.say(look)

    def work(self, bench: Any, parts: Any, entry: Any) -> None:
        """Answer whatever is asked, until nothing is asked any more."""
        entry.goto(f"{self._url}/entry?id=bench-1")
        bench.goto(f"{self._url}/bench?id=bench-1")
        parts.goto(f"{self._url}/parts?id=bench-1")
        done: set[int] = set()
        since, count = time.monotonic(), 0
        while time.monotonic() - since < PATIENCE_S:
            if len(self.looks) != count:
                since, count = time.monotonic(), len(self.looks)
            asked = self._asked()
            if asked["look"] == "done":
                return
            by_hand = asked["feature"] in job.TYPED
            if by_hand and asked != self._typed:
                self._type_size(entry, asked)
            if not self._fresh(bench, done):
                time.sleep(0.1)
                continue
            time.sleep(READS_S)
            asked, fresh = self._asked(), self._fresh(bench, done)
            if fresh and asked["look"] == "asked" and asked["feature"] not in job.SWEPT:
                self._answer(bench, parts, asked, fresh)
                done |= set(fresh.values())
        pytest.fail(f"nothing comes of {self.looks[-1]}")

    def _type_size(self, entry: Any, asked: dict[str, Any]) -> None:
        """What no gauge of the bench measures, is read off another one and typed."""
        time.sleep(READS_S)
        entry.reload()
        value = job.TYPED[asked["feature"]]
        self.tell(f"{asked['part']} {asked['feature']} {asked['depth']}: {value}")
        entry.get_by_label(say("value")).fill(value)
        entry.keyboard.press("Tab")
        entry.get_by_role("button", name=say("send"), exact=True).first.click()
        entry.get_by_text(say("accepted")).wait_for()
        self._typed = asked

    def _asked(self) -> dict[str, Any]:
        """What is asked for now, as the board shows it."""
        return next(one for one in reversed(self.looks) if one["look"] in {"asked", "done"})

    def _fresh(self, bench: Any, done: set[int]) -> dict[str, int]:
        """The answers that the bench's screen offers, each with the ask that it is for."""
        return {value: ask for ask, value in bench.evaluate(OFFERED) if ask not in done}

    def _answer(self, bench: Any, parts: Any, asked: dict[str, Any], fresh: dict[str, int]) -> None:
        value = self._value(asked, fresh)
        self.tell(
            f"{asked['part']} {asked['feature']} {asked['depth']} {asked['direction']}: {value}"
        )
        if value in fresh:
            bench.locator(f"button.glove[data-value='{value}']").first.click()
            return
        parts.locator(f"input[aria-label='{say('fact_value')}']").first.fill(value)
        parts.keyboard.press("Tab")
        parts.get_by_role("button", name=say("answer"), exact=True).click()

    def _value(self, asked: dict[str, Any], fresh: dict[str, int]) -> str:
        feature = asked["feature"]
        if feature == "feeler":
            return "out" if asked["direction"].split()[0] in STAYS_OUT else "in"
        if feature == "number":
            return str(asked["part"][1:])
        if feature in TOLD:
            return TOLD[feature]
        wanted = (TAPPED.get(feature, ""), *WAYS, "absent", *fresh)
        return next(value for value in wanted if value in fresh)

    def report(self, page: Any, reference: str) -> None:
        """Close the job; its report is made on the sessions page and saved."""
        page.goto(f"{self._url}/jobs?id=bench-1")
        page.get_by_role("button", name=say("job_close"), exact=True).click()
        page.get_by_text(say("job_none")).wait_for()
        page.goto(f"{self._url}/sessions")
        page.get_by_label(say("job_is")).fill(reference)
        page.keyboard.press("Tab")
        page.get_by_text(say("choose_session")).wait_for()
        choose_first_session(page)
        page.get_by_role("button", name=say("run_report"), exact=True).click()
        with page.expect_download() as saved:
            page.get_by_role("button", name=say("report_save"), exact=True).click()
        saved.value.save_as(self.folder / "report.html")
        self.tell("report saved")


def acted(folder: Path) -> dict[str, float]:
    """The whole job; gives after how many seconds each thing was there."""
    with Shop(folder) as shop, browser() as opened:
        page = opened.new_page(viewport={"width": 1920, "height": 1080})
        small = {"width": 1280, "height": 800}
        parts, entry = opened.new_page(viewport=small), opened.new_page(viewport=small)
        try:
            shop.set_up(page)
            shop.watch()
            shop.begin_job(page, "7001")
            shop.measure_at_once(page, "the first size")
            shop.work(page, parts, entry)
            shop.tell("all of it asked and answered")
            shop.report(page, "7001")
            shop.begin_job(page, "7002")
            shop.measure_at_once(page, "the next job's first size")
        finally:
            page.screenshot(path=str(folder / "bench.png"))
            parts.screenshot(path=str(folder / "parts.png"))
            entry.screenshot(path=str(folder / "entry.png"))
        return shop.times


if __name__ == "__main__":
    sys.stdout.write(json.dumps(acted(Path(sys.argv[1]))) + "\n")

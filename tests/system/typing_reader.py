"""Reads a USB gauge that types and prints a JSON line for each event; run inside a mock system."""

import asyncio
import json
import sys

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.inputs.gauge_profiles import load_profile
from barrelfit.acquire.wires.gauge_port import GaugePort
from barrelfit.acquire.wires.sources import check_source, source_for
from barrelfit.acquire.wires.usb_listed import typists
from barrelfit.drivers.decode import Wire
from barrelfit.rules.manner import told


def say(**fields):
    sys.stdout.write(json.dumps(fields) + "\n")
    sys.stdout.flush()


def said_or_none(what):
    return None if what is None else told(what)


async def main(port):
    profile = load_profile("keyboard-decimal")
    wire = Wire(profile)
    say(listed=[t.name for t in typists()[0]], problem=said_or_none(check_source("g", port)))

    def received(t_ns, data):
        for outcome in wire.feed(data, t_ns):
            if hasattr(outcome, "length_nm"):
                say(length_nm=outcome.length_nm)

    def changed(t_ns, present, reason):
        say(present=present, reason=told(reason))

    await source_for(GaugePort("g", port), profile, RunningClock(), received, changed).run()


asyncio.run(main(sys.argv[1]))

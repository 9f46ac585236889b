"""A held port: waited for while it may be a service that looks at it, refused when it is kept."""

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.wires.busy_port import BusyError, FirstOpening


def busy(device=None):
    return BusyError("port /dev/x is in use by process 7 (terminal)", device)


def test_fifteen_seconds_from_the_first_try_where_the_plugging_is_not_known():
    first = FirstOpening()
    first.failed(busy(), 100.0)
    first.failed(busy(), 114.9)
    with pytest.raises(UserError, match=r"process 7 \(terminal\); end that program"):
        first.failed(busy(), 115.0)


def test_fifteen_seconds_from_the_plugging_where_it_is_known(tmp_path):
    first = FirstOpening(appeared=lambda device: 90.0)
    first.failed(busy(tmp_path), 104.9)
    with pytest.raises(UserError):
        first.failed(busy(tmp_path), 105.0)
    with pytest.raises(UserError):  # long plugged in: refused at the first try
        FirstOpening(appeared=lambda device: 90.0).failed(busy(tmp_path), 500.0)


def test_other_failures_are_tried_again_without_end():
    first = FirstOpening()
    for now_s in (0.0, 100.0, 1000.0):
        first.failed(OSError(2, "not there"), now_s)
        first.failed(UserError(["two devices have that name"]), now_s)


def test_a_port_that_was_ours_once_is_never_refused():
    first = FirstOpening()
    first.failed(busy(), 0.0)
    first.opened()
    first.failed(busy(), 1000.0)

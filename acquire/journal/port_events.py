"""What befalls a gauge's port beside its bytes: another adapter, a stop, a babble."""

from barrelfit.acquire.journal.document import Flat


class AdapterTaken(Flat, frozen=True):
    """The USB adapter behind a gauge's port (see `acquire.wires.usb_tree.Plugged`).

    After a loss or a restart only this one is the gauge's. `chosen_by` is who said that it is,
    where the port's name could have meant another; `port` is then the name that was given.
    """

    gauge: str
    port: str
    usb: str
    serial_number: str
    socket: str
    plug: str
    since_us: int = 0
    interface: str = ""
    chosen_by: str = ""


class AdapterChosen(Flat, frozen=True):
    """`who` said, while the bench ran, that what is at `port` is the gauge's adapter.

    From this record on the gauge is read there; `device` is whose word it came through.
    """

    gauge: str
    port: str
    who: str
    device: str = ""


class NameShared(Flat, frozen=True):
    """`adapters` were there at one time under the name of a gauge's port."""

    gauge: str
    port: str
    adapters: str


class GaugeStalled(Flat, frozen=True):
    """Nobody read a gauge's port for `stood_ms`: the process was stopped, or had no time.

    What the gauge sent meanwhile has no time of its own, and the system may have lost some of it.
    """

    gauge: str
    stood_ms: int


class BytesLeftOut(Flat, frozen=True):
    """A gauge was cut off because it babbled: `count` bytes are not in the journal.

    Each such record tells of the bytes since the one before; `sample` are the first of them.
    """

    gauge: str
    count: int
    sample: str

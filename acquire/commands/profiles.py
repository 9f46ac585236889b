"""`barrelfit profiles`: the shapes of gauges that are known."""

import json
from typing import Annotated

import typer


def profiles(
    as_json: Annotated[  # noqa: FBT002  an option
        bool, typer.Option("--json", help="One JSON object a line.")
    ] = False,
) -> int:
    """List the gauge profiles: what a gauge's wire looks like, as data.

    A profile is named by the shape of what it sends, never by a maker. The evidence says how
    well it is founded: layout (a described layout only), manual, capture or bench.

    Example:
      barrelfit profiles --json
    """
    from barrelfit.acquire.inputs.gauge_profiles import load_profile, profile_names

    for name in profile_names():
        profile = load_profile(name)
        if as_json:
            print(json.dumps(_fields(profile), ensure_ascii=False))
            continue
        print(f"{profile.id:32} {profile.evidence:8} {_port(profile)}")
        print(f"    {profile.title}.")
        if profile.caution:
            print(f"    Caution: {profile.caution}")
        if profile.instead:
            print(f"    To sweep with it: {profile.instead}")
    return 0


def _port(profile: object) -> str:
    """How the gauge is reached, in a few words: `9600 8N1, sends on button`."""
    from barrelfit.drivers.profile import Profile

    if not isinstance(profile, Profile):
        return ""
    button = 'sends on its button: movement = "held", unless it can be set to send all the time'
    how = {"button": button, "free": "sends all the time", "asked": "is asked"}
    if profile.is_keyboard:
        return "USB keyboard, " + how[profile.sends]
    port = profile.port
    shape = f"{port.baud} {port.bits}{port.parity[0].upper()}{port.stop}"
    return f"{shape}, {how[profile.sends]}"


def _fields(profile: object) -> dict[str, object]:
    from barrelfit.drivers.profile import Profile

    if not isinstance(profile, Profile):
        return {}
    port = profile.port
    return {
        "id": profile.id,
        "title": profile.title,
        "evidence": profile.evidence,
        "caution": profile.caution,
        "sends": profile.sends,
        "instead": profile.instead,
        "digit_nm": profile.digit_nm,
        "keyboard": profile.is_keyboard,
        "baud": port.baud,
        "bits": port.bits,
        "parity": port.parity,
        "stop": port.stop,
    }

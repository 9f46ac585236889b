"""`barrelfit topics`: what goes over the bus, for whoever wants to listen."""

import json
from typing import Annotated

import typer


def topics(
    *,
    asyncapi: Annotated[
        bool, typer.Option("--asyncapi", help="The whole description, as AsyncAPI 3.0 in JSON.")
    ] = False,
) -> int:
    """List the topics of the message bus and what they carry.

    Any MQTT 3.1.1 client can listen; `barrelfit run` prints the address, the user, and where the
    password is. Drop repeats by (session, seq); a gap in seq means that something was missed.

    Example:
      barrelfit topics --asyncapi > bus.json
    """
    from barrelfit.acquire.bus.asyncapi import CHANNELS
    from barrelfit.acquire.bus.asyncapi import asyncapi as document
    from barrelfit.acquire.topics import ROOT

    if asyncapi:
        print(json.dumps(document(), indent=1))
        return 0
    for leaf, (_, retained, says) in CHANNELS.items():
        kept = ", retained" if retained else ""
        print(f"{ROOT}/<bench>/{leaf:<10} {says}{kept}")
    return 0

"""The bus's description names every topic, and every reference in it leads somewhere."""

import json
import re

from barrelfit.acquire import topics
from barrelfit.acquire.bus.asyncapi import asyncapi


def test_every_topic_is_described():
    assert set(asyncapi()["channels"]) == set(topics.LEAVES)


def test_every_reference_leads_somewhere():
    document = asyncapi()
    text = json.dumps({"channels": document["channels"], "schemas": {
        name: schema for name, schema in document["components"]["schemas"].items()
        if name != "Record"
    }})  # fmt: skip
    for name in re.findall(r"#/components/schemas/(\w+)", text):
        assert name in document["components"]["schemas"], name


def test_a_topic_comes_back_from_its_name():
    for leaf in topics.LEAVES:
        assert topics.parse_topic(topics.topic("b-1", leaf)) == ("b-1", leaf)
    assert topics.parse_topic("barrelfit/b 1/journal") is None
    assert topics.parse_topic("barrelfit/b1/nothing") is None
    assert topics.parse_topic("other/b1/journal") is None

"""docs/asyncapi.yaml is what really goes out: topics, messages and every kind of event."""

import json
import re
import time
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator, FormatChecker

from api.events import event_of
from api.push.mqtt import Broker, Mqtt
from daq.head.record import EntryKind
from daq.records.feed import Event, JobNames
from drivers.gauge import GaugeState

ROOT = Path(__file__).parents[3]
DOCUMENT = yaml.safe_load((ROOT / "docs/asyncapi.yaml").read_text())
SCHEMAS = DOCUMENT["components"]["schemas"]


def faults(name, value):
    whole = {"$ref": f"#/components/schemas/{name}", "components": DOCUMENT["components"]}
    validator = Draft202012Validator(whole, format_checker=FormatChecker())
    return [error.message for error in validator.iter_errors(value)]


class Client:
    """Writes down what is published."""

    def __init__(self):
        self.said = []

    async def publish(self, topic, payload, **options):
        self.said.append((topic, json.loads(payload), options))


async def test_the_topics_are_those_of_the_channels():
    there = Broker("127.0.0.1", 1883)
    wall = "2026-11-25T00:00:00.000Z"
    states = {"G/1": "speaking"}
    mqtt = Mqtt(there, "urn:x-bench:b-1", lambda: states, lambda: wall, time.monotonic)
    client = mqtt._client = Client()
    event = {"id": "1", "data": {"job": "a+b"}}
    assert (await mqtt.send(event)).why == ""
    assert await mqtt.idle(7) == ""
    channels = DOCUMENT["channels"]
    for (topic, said, options), channel in zip(
        client.said, ("measurement", "gaugeState", "benchState"), strict=True
    ):
        address = channels[channel]["address"]
        assert re.fullmatch(re.sub(r"\{\w+\}", "[^/+#]+", address), topic)
        (operation,) = [
            each["bindings"]["mqtt"]
            for each in DOCUMENT["operations"].values()
            if each["channel"]["$ref"].endswith(f"/{channel}")
        ]
        assert options["qos"] == operation["qos"]
        assert options.get("retain", False) == operation["retain"]
        if channel != "measurement":
            assert faults(channel, said) == []
    assert (
        client.said[0][2]["properties"].ContentType
        == (DOCUMENT["components"]["messages"]["event"]["contentType"])
    )
    assert (
        client.said[0][2]["properties"].MessageExpiryInterval
        == (DOCUMENT["operations"]["tell"]["bindings"]["mqtt"]["messageExpiryInterval"])
    )


def test_every_reference_leads_somewhere():
    text = (ROOT / "docs/asyncapi.yaml").read_text()
    for reference in re.findall(r'\$ref: "#/([^"]+)"', text):
        found = DOCUMENT
        for part in reference.split("/"):
            found = found[part]
    assert DOCUMENT["asyncapi"] == "3.0.0"
    for schema in SCHEMAS.values():
        Draft202012Validator.check_schema(schema)


def test_every_kind_of_entry_has_its_type_and_every_state_its_name():
    types = set(SCHEMAS["event"]["properties"]["type"]["enum"])
    closed = {"job.signed": "job.closed"}
    assert types == {f"alt.benchtally.{closed.get(kind, kind)}.v1" for kind in EntryKind}
    assert set(SCHEMAS["gaugeState"]["properties"]["state"]["enum"]) == set(GaugeState)


async def test_what_a_bench_really_tells_keeps_to_it(client, job, stem, service):
    kept = (await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)).json()
    void = f"/api/v1/jobs/{job}/measurements/{kept['id']}/void"
    assert (await client.post(void, json={"reason": "slipped"})).status_code == 200
    temperature = {"part_c": "20.5", "gauge_c": "20"}
    await client.post(f"/api/v1/jobs/{job}/temperature", json=temperature)
    await client.post(f"/api/v1/jobs/{job}/sign", json={"person": "A. Person"})
    events = (await client.get("/api/v1/events")).json()["events"]
    assert len(events) >= 5
    for event in events:
        assert faults("event", event) == [], event["type"]


@pytest.mark.parametrize("name", ["cursor", "source", "data"])
def test_what_does_not_keep_to_it_is_seen(name):
    from daq.head.record import Entry

    entry = Entry("j", 1, "id", "2026-11-25T00:00:00.000Z", EntryKind.ZEROED, {}, "", "")
    event = event_of(Event(1, entry, JobNames("A 100", None, "invented")), "Bench 1")
    assert faults("event", event) == []
    assert faults("event", {**event, name: "?"})

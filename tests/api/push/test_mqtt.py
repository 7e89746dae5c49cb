"""MQTT through a real broker: topics, properties, will, states, and a broker that goes away."""

import asyncio
import contextlib
import datetime as dt
import json
import ssl
import subprocess
import time

import aiomqtt
import pytest

from api.push.mqtt import Broker, Mqtt, topic_part
from api.push.pushing import channels_of
from api.push.tables import MqttTable

SOURCE = "urn:x-bench:bench-1"


def channel(broker, states=dict, **options):
    there = Broker("127.0.0.1", broker.port, **options)
    return Mqtt(there, SOURCE, states, lambda: "2026-11-25T00:00:00.000Z", time.monotonic)


@contextlib.asynccontextmanager
async def listening(broker, topic="bench/v1/#", **options):
    """What arrives there, as (topic, payload, properties, retained)."""
    heard = []

    async def listen():
        async for message in client.messages:
            heard.append(message)  # noqa: PERF401 - there is no end to wait for

    options = {"protocol": aiomqtt.ProtocolVersion.V5, **options}
    async with aiomqtt.Client("127.0.0.1", broker.port, **options) as client:
        await client.subscribe(topic, qos=1)
        task = asyncio.create_task(listen())
        try:
            yield heard
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)


def events_in(heard):
    return [json.loads(m.payload) for m in heard if str(m.topic).endswith("/measurement")]


def states_in(heard):
    return [json.loads(message.payload)["state"] for message in heard]


async def test_an_event_arrives_as_the_contract_says(bench, mosquitto, wait_until):
    broker = mosquitto()
    broker.start()
    async with listening(broker) as heard, bench.telling(channel(broker, expiry_s=600)):
        told = bench.write("job/+1", 2)
        await wait_until(lambda: len(events_in(heard)) == 3)
    messages = [m for m in heard if str(m.topic).endswith("/measurement")]
    assert {str(m.topic) for m in messages} == {"bench/v1/bench-1/job/job--1/measurement"}
    assert [event["id"] for event in events_in(heard)] == told
    for message in messages:
        assert (message.qos, message.retain) == (1, False)
        assert message.properties.ContentType == "application/cloudevents+json"
        assert message.properties.MessageExpiryInterval <= 600
    event = events_in(heard)[0]
    assert (event["specversion"], event["source"], event["cursor"]) == ("1.0", SOURCE, "1")


async def test_the_states_are_retained_and_said_again_when_they_change(
    bench, mosquitto, wait_until, monkeypatch
):
    monkeypatch.setattr("api.push.sender.IDLE_S", 0.05)
    broker, states = mosquitto(), {"G-1037": "speaking"}
    broker.start()
    mqtt = channel(broker, lambda: dict(states))
    async with bench.telling(mqtt):
        await wait_until(lambda: mqtt._told_states)

        async def heard_now(topic):
            async with listening(broker, topic) as heard:
                await wait_until(lambda: heard)
                assert heard[0].retain
                return json.loads(heard[0].payload)

        said = await heard_now("bench/v1/bench-1/gauge/G-1037/state")
        assert said["state"] == "speaking"
        said = await heard_now("bench/v1/bench-1/state")
        assert (said["state"], said["source"]) == ("running", SOURCE)
        async with listening(broker, "bench/v1/bench-1/gauge/+/state") as heard:
            states["G-1037"] = "gone"
            await wait_until(
                lambda: [json.loads(m.payload)["state"] for m in heard][-1:] == ["gone"]
            )
    async with listening(broker, "bench/v1/bench-1/state") as heard:
        await wait_until(lambda: heard)
        assert json.loads(heard[0].payload)["state"] == "stopped"


async def test_the_broker_says_when_a_bench_is_gone_without_a_word(mosquitto, wait_until):
    broker = mosquitto()
    broker.start()
    lost = channel(broker)
    assert await lost.idle(0) == ""
    async with listening(broker, "bench/v1/bench-1/state") as heard:
        lost._client._client.socket().shutdown(2)  # as a pulled cable, seen by the broker
        await wait_until(lambda: states_in(heard)[-1:] == ["gone"])
    await lost._drop()


async def test_a_broker_that_is_stopped_for_a_while_loses_nothing(bench, mosquitto, wait_until):
    broker = mosquitto()
    broker.start()
    async with bench.telling(channel(broker)) as pushing:
        async with listening(broker) as heard:
            first = bench.write("a", 3)
            await wait_until(lambda: len(events_in(heard)) >= len(first))
        broker.stop()
        told = bench.write("b", 3)
        await wait_until(lambda: pushing.troubles() != [])
        assert "takes nothing" in pushing.troubles()[0]
        told += bench.write("a", 2)
        broker.start()
        await wait_until(lambda: bench.untold("mqtt") == 0)
        assert pushing.senders[0].sent == len(first) + len(told)
        assert pushing.troubles() == []
        assert (await pushing.depths())["mqtt"] == 0


async def test_a_broker_that_is_never_there_holds_nothing_up(bench, mosquitto, wait_until):
    broker = mosquitto()  # not started
    async with bench.telling(channel(broker)) as pushing:
        bench.write("a", 20)
        await wait_until(lambda: pushing.troubles() != [])
        assert (await pushing.depths())["mqtt"] == 21


@pytest.fixture
def certificate(tmp_path):
    """A certificate for 127.0.0.1 that signs itself, and a user with a password."""
    from ipaddress import ip_address

    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "invented broker")])
    now = dt.datetime.now(dt.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))]), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    (tmp_path / "broker.crt").write_bytes(made.public_bytes(pem))
    (tmp_path / "broker.key").write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    passwords = ("mosquitto_passwd", "-b", "-c", tmp_path / "passwords", "bench-1", "a secret")
    subprocess.run(passwords, check=True, capture_output=True)
    return tmp_path


async def test_with_tls_and_a_password(bench, mosquitto, certificate, wait_until):
    broker = mosquitto(
        "allow_anonymous false",
        f"password_file {certificate}/passwords",
        f"certfile {certificate}/broker.crt",
        f"keyfile {certificate}/broker.key",
    )
    broker.start()
    (certificate / "secret").write_text("a secret\n")
    table = MqttTable(
        broker=f"mqtts://127.0.0.1:{broker.port}",
        user="bench-1",
        password_file="secret",
        ca="broker.crt",
    )
    ((sure, _),) = channels_of(table, [], certificate, "Bench 1", dict)
    context = ssl.create_default_context(cafile=certificate / "broker.crt")
    options = {"username": "bench-1", "password": "a secret", "tls_context": context}
    async with listening(broker, **options) as heard, bench.telling(sure):
        told = bench.write("a", 2)
        await wait_until(lambda: len(events_in(heard)) == len(told))
    (certificate / "secret").write_text("another\n")
    ((refused, _),) = channels_of(table, [], certificate, "Bench 1", dict)
    said = await refused.idle(0)
    assert "takes nothing" in said
    assert "another" not in said


@pytest.mark.parametrize(
    ("text", "part"), [("A 100", "A 100"), ("a+b#c/d", "a-b-c-d"), ("", "-"), ("ä\0", "ä-")]
)
def test_ids_are_cleaned_of_what_a_topic_may_not_hold(text, part):
    assert topic_part(text) == part

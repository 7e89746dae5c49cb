"""Webhooks: signed as the standard says, and every answer means what it means."""

import asyncio
import base64
import hashlib
import hmac
import json
import time

import pytest

from api.push.channel import Outcome
from api.push.webhook import Webhook, key_of, signature

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
KEY = key_of(SECRET)


def webhook(receiver, *, keys=(KEY,), timeout_s=5.0):
    return Webhook("erp", receiver.url, keys, lambda: 1_614_265_330.9, timeout_s)


EVENT = {"id": "e-1", "data": {"job": "a", "said": "ä"}}


def test_the_signature_of_the_standard():
    """The worked example of the Standard Webhooks libraries (from memory)."""
    said = signature([KEY], "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, b'{"test": 2432232314}')
    assert said == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


@pytest.mark.parametrize(
    "secret", ["", "MfKQ", "whsec_", "whsec_!!", "whsec_" + "A" * 28, "whsec_" + "A" * 92]
)
def test_a_bad_secret_is_refused_and_not_repeated(secret):
    with pytest.raises(ValueError, match="webhook secret") as said:
        key_of(secret)
    assert not secret.removeprefix("whsec_") or secret not in str(said.value)


async def test_the_exact_bytes_sent_are_signed(receiver):
    channel = webhook(receiver, keys=(KEY, b"new key of at least 24 bytes"))
    assert (await channel.send(EVENT)).outcome is Outcome.DONE
    ((headers, body),) = receiver.requests
    assert json.loads(body) == EVENT
    assert headers["content-type"] == "application/cloudevents+json"
    assert headers["webhook-id"] == "e-1"
    assert headers["webhook-timestamp"] == "1614265330"
    signed = b"e-1.1614265330." + body
    wanted = [
        "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
        for key in (KEY, b"new key of at least 24 bytes")
    ]
    assert headers["webhook-signature"].split(" ") == wanted
    await channel.close()


@pytest.mark.parametrize(
    ("status", "outcome"),
    [
        (200, Outcome.DONE),
        (204, Outcome.DONE),
        (301, Outcome.DOWN),
        (307, Outcome.DOWN),
        (400, Outcome.REFUSED),
        (401, Outcome.DOWN),
        (404, Outcome.DOWN),
        (410, Outcome.GONE),
        (413, Outcome.REFUSED),
        (422, Outcome.REFUSED),
        (429, Outcome.DOWN),
        (500, Outcome.DOWN),
        (503, Outcome.DOWN),
    ],
)
async def test_what_an_answer_means(receiver, status, outcome):
    receiver.answer = lambda event: status
    channel = webhook(receiver)
    told = await channel.send(EVENT)
    assert told.outcome is outcome
    assert (outcome is Outcome.DONE) == (told.why == "")
    assert len(receiver.requests) == 1  # a redirect is not followed
    await channel.close()


async def test_one_that_does_not_answer_in_time_is_down(receiver):
    receiver.delay_s = 3600.0
    channel = webhook(receiver, timeout_s=0.1)
    assert (await channel.send(EVENT)).outcome is Outcome.DOWN
    await channel.close()


async def test_one_that_answers_a_byte_at_a_time_is_down_too():
    async def drip(reader, writer):
        try:
            for byte in b"HTTP/1.1 200 OK" * 10:
                writer.write(bytes([byte]))
                await writer.drain()
                await asyncio.sleep(0.02)
        except ConnectionError:
            pass
        writer.close()
        ended.set()

    ended = asyncio.Event()

    server = await asyncio.start_server(drip, "127.0.0.1", 0)
    url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/"
    channel = Webhook("erp", url, [KEY], time.time, 0.3)
    assert (await channel.send(EVENT)).outcome is Outcome.DOWN
    await channel.close()
    server.close()
    await ended.wait()


async def test_one_that_is_not_there_is_down_without_its_address_in_the_sentence():
    channel = Webhook("erp", "http://127.0.0.1:1/secret-path", [KEY], time.time)
    told = await channel.send(EVENT)
    assert told.outcome is Outcome.DOWN
    assert "secret-path" not in told.why
    await channel.close()

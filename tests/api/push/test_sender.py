"""Nothing is lost and each job stays in order, whatever the receiver does."""

import asyncio
import contextlib
import time

from api.push import sender
from api.push.channel import DONE
from api.push.webhook import Webhook, key_of

KEY = key_of("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")


def hook(receiver, timeout_s=5.0):
    return Webhook("erp", receiver.url, [KEY], time.time, timeout_s)


def taken(receiver):
    return [event["id"] for event in receiver.taken]


async def test_everything_from_now_on_is_told_in_order(bench, receiver, wait_until):
    bench.write("a", 2)  # before anybody was to be told
    async with bench.telling(hook(receiver)) as pushing:
        told = [*bench.write("a", 3), *bench.write("b", 2), *bench.write("a", 1)]
        pushing.tell(None)
        await wait_until(lambda: len(receiver.taken) >= len(told))
    assert taken(receiver) == told
    events = receiver.taken
    assert [event["cursor"] for event in events] == [str(n) for n in range(4, 4 + len(told))]
    assert {event["source"] for event in events} == {"urn:x-bench:bench-1"}


async def test_what_was_written_while_nobody_told_is_told_after(bench, receiver, wait_until):
    async with bench.telling(hook(receiver)):
        first = bench.write("a", 2)
        # Not only sent: stopped before the answer was read, the last one would come once more.
        await wait_until(lambda: bench.untold("erp") == 0)
    told = bench.write("a", 5)
    async with bench.telling(hook(receiver)):
        await wait_until(lambda: len(receiver.taken) >= 8)
    assert taken(receiver) == [*first, *told]


async def test_a_receiver_that_fails_for_a_while_gets_everything_once_it_takes(
    bench, receiver, wait_until
):
    answers = iter([500, 503, 429, 302, 500])
    receiver.answer = lambda event: next(answers, 200)
    async with bench.telling(hook(receiver)) as pushing:
        told = bench.write("a", 4)
        await wait_until(lambda: pushing.troubles() != [])
        await wait_until(lambda: bench.untold("erp") == 0)
    assert taken(receiver) == told
    assert pushing.troubles() == []
    # The one that was not taken is tried again, with the same id.
    assert [headers["webhook-id"] for headers, _ in receiver.requests[:6]] == [told[0]] * 6


async def test_one_that_never_answers_and_then_does(bench, receiver, wait_until):
    receiver.delay_s = 60.0
    async with bench.telling(hook(receiver, timeout_s=0.1)):
        told = bench.write("a", 3)
        await wait_until(lambda: len(receiver.requests) >= 2)
        receiver.delay_s = 0.0
        await wait_until(lambda: bench.untold("erp") == 0)
    # An answer that came too late is as good as none, so one may have been taken twice.
    assert list(dict.fromkeys(taken(receiver))) == told


async def test_gone_is_switched_off_and_stays_off(bench, receiver, wait_until):
    receiver.answer = lambda event: 410
    async with bench.telling(hook(receiver)) as pushing:
        bench.write("a", 3)
        pushing.tell(None)
        await wait_until(lambda: pushing.troubles() != [])
        assert "switched off" in pushing.troubles()[0]
    async with bench.telling(hook(receiver)) as pushing:
        bench.write("a", 3)
        await wait_until(lambda: pushing.troubles() != [])
    assert len(receiver.requests) == 1
    outbox = bench.outbox()
    outbox.switch("erp", "")
    outbox.close()
    receiver.answer = lambda event: 200
    async with bench.telling(hook(receiver)):
        await wait_until(lambda: len(receiver.taken) == 7)


async def test_a_refused_event_holds_up_its_own_job_only(bench, receiver, wait_until):
    refuse = [True]

    def answer(event):
        if refuse[0] and event["data"]["job"] == "b" and event["data"].get("part_c") == "1":
            return 422
        return 200

    receiver.answer = answer
    async with bench.telling(hook(receiver)) as pushing:
        a = bench.write("a", 2)
        b = bench.write("b", 3)
        a += bench.write("a", 2)
        b += bench.write("b", 1)
        await wait_until(lambda: len(receiver.taken) == len(a) + 2)
        assert "waits, the others go on" in pushing.troubles()[0]
        assert (await pushing.depths())["erp"] >= 3
        refuse[0] = False
        await wait_until(lambda: len(receiver.taken) == len(a) + len(b))
        await wait_until(lambda: pushing.troubles() == [])
    for job, told in (("a", a), ("b", b)):
        assert [e["id"] for e in receiver.taken if e["data"]["job"] == job] == told


async def test_stopped_behind_a_refused_event_it_is_told_again_and_nothing_is_lost(
    bench, receiver, wait_until
):
    receiver.answer = lambda event: 422 if event["data"]["job"] == "b" else 200
    async with bench.telling(hook(receiver)):
        b = bench.write("b", 1)
        a = bench.write("a", 2)
        await wait_until(lambda: len(receiver.taken) == len(a))
    receiver.answer = lambda event: 200
    async with bench.telling(hook(receiver)):
        await wait_until(lambda: set(taken(receiver)) == {*a, *b})


async def test_telling_ahead_of_a_refused_event_has_an_end(
    bench, receiver, wait_until, monkeypatch
):
    monkeypatch.setattr(sender, "AHEAD_MOST", 10)
    monkeypatch.setattr(sender, "PAGE", 4)
    monkeypatch.setattr(sender, "IDLE_S", 0.05)
    receiver.answer = lambda event: 422 if event["data"]["job"] == "b" else 200
    async with bench.telling(hook(receiver)):
        bench.write("b", 0)
        told = bench.write("a", 40)
        await wait_until(lambda: len(receiver.taken) >= 9)
        await asyncio.sleep(0.2)
        assert len(receiver.taken) < 16
        receiver.answer = lambda event: 200
        await wait_until(lambda: len(receiver.taken) == len(told) + 1)


async def test_two_receivers_do_not_wait_for_each_other(bench, receiver, wait_until):
    dead = Webhook("dead", "http://127.0.0.1:1/", [KEY], time.time)
    async with bench.telling(hook(receiver), dead) as pushing:
        told = bench.write("a", 5)
        await wait_until(lambda: len(receiver.taken) == len(told))
        assert (await pushing.depths())["dead"] == len(told)
    assert taken(receiver) == told


async def test_it_ends_when_its_end_comes_with_the_receiver_s_answer(bench):
    class LosesTheCancellation:
        """As wait_for of Python 3.11 does when the answer comes in the same moment."""

        name = "erp"
        asked = asyncio.Event()

        async def send(self, event):
            self.asked.set()
            with contextlib.suppress(asyncio.CancelledError):
                await asyncio.Event().wait()
            return DONE

        async def idle(self, cursor):
            return ""

        async def close(self):
            pass

    channel = LosesTheCancellation()
    async with asyncio.timeout(60):
        async with bench.telling(channel) as pushing:
            bench.write("job")
            pushing.tell(None)
            await channel.asked.wait()
    assert bench.untold("erp") == 1  # what it said last is kept

"""What the gauge said while a value was taken, over HTTP."""

from daq.capture.trace import Trace
from daq.head.record import Draft, EntryKind
from drivers.reading import Reading, State, Unit

READINGS = [
    Reading(
        "g", "", (10000 + n) / 100, 0.5 + (0.031 if n == 700 else 0.0), Unit.MM, mark=n in (5, 905)
    )
    for n in range(1000)
]


async def kept_with(service, job, trace):
    body = {
        "characteristic": "valve.stem_runout", "position": "1I", "place": None, "value": "0.0310",
        "unit": "mm", "uncertainty": "0.0012", "k": "2", "status": "PASS", "complete": True,
        "came": "captured", "measured_at": "2026-11-25T09:00:00.000Z",
        "trace_sha256": trace.sha256,
    }  # fmt: skip
    draft = Draft(job, EntryKind.KEPT, body, trace.pack())
    return (await service.run.read(lambda journal: journal.append([draft])))[0].id


async def test_a_trace_is_thinned_and_keeps_its_extremes(client, service, job):
    found = await kept_with(service, job, Trace.of(READINGS))
    answer = (await client.get(f"/api/v1/jobs/{job}/measurements/{found}/trace")).json()
    assert answer["readings"] == 1000
    assert len(answer["t_s"]) == len(answer["value"]) <= 400
    assert (answer["t_s"][0], max(answer["value"])) == (0.0, 0.531)
    assert answer["t_s"][answer["value"].index(0.531)] == 7.0
    assert (answer["unit"], answer["marks"]) == ("mm", [0.05, 9.05])


async def test_what_carries_no_number_is_not_drawn(client, service, job):
    bad = Reading("g", "", 111.0, float("nan"), Unit.MM, State.OVER_RANGE)
    found = await kept_with(service, job, Trace.of([*READINGS[:10], bad]))
    answer = (await client.get(f"/api/v1/jobs/{job}/measurements/{found}/trace")).json()
    assert (answer["readings"], len(answer["value"])) == (11, 10)


async def test_what_has_no_trace_says_so(client, job, stem):
    keyed = (await client.post(f"/api/v1/jobs/{job}/measurements", json=stem)).json()["id"]
    answer = await client.get(f"/api/v1/jobs/{job}/measurements/{keyed}/trace")
    assert (answer.status_code, "keyed in" in answer.json()["detail"]) == (404, True)
    answer = await client.get(f"/api/v1/jobs/{job}/measurements/other/trace")
    assert (answer.status_code, "'other'" in answer.json()["detail"]) == (404, True)

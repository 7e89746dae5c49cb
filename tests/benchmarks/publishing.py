"""Run as a program: fifty invented benches that publish their events as fast as the broker takes.

`python publishing.py PORT EVENTS PREFIX`
"""

import json
import sys

import paho.mqtt.client as mqtt

BENCHES = 50


def event(bench: str, cursor: int) -> bytes:
    kept = {
        "job": f"{bench}-job-{cursor // 200}",
        "position": "1I",
        "characteristic": "valve.stem_diameter",
        "place": {"depth": "12", "direction": "along"},
        "value": "6.9710",
        "unit": "mm",
        "status": "PASS",
        "uncertainty": {"value": "0.0021", "k": "2.0"},
        "gauge": {"name": "micrometer", "serial": "G-1042", "certificate": "invented"},
        "note": "invented " * 40,
    }
    said = {
        "specversion": "1.0",
        "id": f"{bench}-{cursor}",
        "source": f"urn:x-bench:{bench}",
        "type": "alt.benchtally.measurement.kept.v1",
        "subject": f"job/{kept['job']}/1I/valve.stem_diameter",
        "time": "2026-11-25T00:00:00.000Z",
        "datacontenttype": "application/json",
        "cursor": str(cursor),
        "data": kept,
    }
    return json.dumps(said).encode()


def main(port: int, events: int, prefix: str) -> None:
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, protocol=mqtt.MQTTv5)
    client.max_inflight_messages_set(1000)
    client.connect("127.0.0.1", port)
    client.loop_start()
    sent = []
    for number in range(events):
        bench, cursor = f"{prefix}-{number % BENCHES}", number // BENCHES + 1
        topic = f"bench/v1/{bench}/job/{bench}-job/measurement"
        sent.append(client.publish(topic, event(bench, cursor), qos=1))
    for each in sent:
        each.wait_for_publish()
    client.disconnect()
    client.loop_stop()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3])

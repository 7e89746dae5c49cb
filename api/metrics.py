"""What Prometheus scrapes: readings, captures, what is still to be told, gauges by state."""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from api.service import Service, service_even_stopped
from daq.head.record import Entry, EntryKind

# Text exposition format, https://prometheus.io/docs/instrumenting/exposition_formats/.
MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"


class Written:
    """Counts what was written since the service was started, by kind and status."""

    def __init__(self) -> None:
        self.entries: Counter[str] = Counter()
        self.captures: Counter[str] = Counter()

    def tell(self, entry: Entry) -> None:
        """Count an entry; called by the run after the fsync."""
        self.entries[entry.kind.value] += 1
        if entry.kind is EntryKind.KEPT:
            self.captures[str(entry.body.get("status", ""))] += 1


class _Look:
    """One look at a service, as prometheus_client collects it."""

    def __init__(self, service: Service, written: Written, depths: Mapping[str, int]) -> None:
        self._service, self._written, self._depths = service, written, depths

    def collect(self) -> Iterator[Any]:
        """Every family."""
        from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily

        run = self._service.run
        gauges = {gauge.spec.name: gauge for gauge in run.gauges}
        readings = {name: gauge.readings for name, gauge in gauges.items()}
        rejected = {name: gauge.wire.rejected_messages for name, gauge in gauges.items()}
        reconnects = {name: gauge.link.reconnects for name, gauge in gauges.items()}
        states = Counter(gauge.state.value for gauge in run.gauges)
        entries, captures = self._written.entries, self._written.captures
        is_running = self._service.is_running and not run.trouble
        count, gauge = CounterMetricFamily, GaugeMetricFamily
        yield _family(count, "readings", "Readings that came.", "gauge", readings)
        yield _family(count, "rejected", "Messages not understood.", "gauge", rejected)
        yield _family(count, "reconnects", "Times a gauge came back.", "gauge", reconnects)
        yield _family(gauge, "gauges", "Gauges by state.", "state", states)
        yield _family(count, "entries", "Entries written.", "kind", entries)
        yield _family(count, "captures", "Measurements kept.", "status", captures)
        yield _family(gauge, "outbox_depth", "Entries to be told.", "receiver", self._depths)
        yield _family(gauge, "running", "1: readings reach the disk.", "", {"": float(is_running)})


def _family(kind: Any, name: str, said: str, label: str, counted: Mapping[str, float]) -> Any:
    family = kind(f"benchtally_{name}", said, labels=[label] if label else [])
    for value, count in sorted(counted.items()):
        family.add_metric([value] if label else [], count)
    return family


async def exposed(service: Service, written: Written) -> bytes:
    """One look at that service."""
    from prometheus_client import CollectorRegistry, generate_latest

    depths = {} if service.push is None else await service.push.depths()
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Look(service, written, depths))
    return bytes(generate_latest(registry))


def metrics_of(written: Written) -> APIRouter:
    """The route, over what `written` counted."""
    router = APIRouter(include_in_schema=False)

    @router.get("/metrics")
    async def metrics(request: Request) -> Response:
        service = service_even_stopped(request)
        return Response(await exposed(service, written), media_type=MEDIA_TYPE)

    return router

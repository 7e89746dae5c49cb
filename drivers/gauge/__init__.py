"""Link, wire and profile together: a gauge as an async stream of batches of readings."""

from drivers.gauge.gauge import Gauge, gauges_of
from drivers.gauge.spec import GaugeSpec, GaugeState, Speaks
from drivers.gauge.voice import QUIET_S, Voice

__all__ = ["QUIET_S", "Gauge", "GaugeSpec", "GaugeState", "Speaks", "Voice", "gauges_of"]

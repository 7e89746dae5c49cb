"""Two adapters that look alike, on real ports: the wrong one is never taken for the right one."""

import time

from drivers.find import Adapters, Plugged
from drivers.gauge import Gauge, GaugeSpec, GaugeState
from drivers.gauge import voice as voice_module
from drivers.pretend.port import PretendPort
from drivers.profile import load_profile

USB = "usb:1A86:7523"


async def test_one_that_came_later_is_not_taken_for_the_one_that_went(
    tmp_path, listen, until, monkeypatch
):
    monkeypatch.setattr(voice_module, "LOOK_AGAIN_S", 0.02)
    first, second = (PretendPort(tmp_path / name) for name in ("ttyUSB0", "ttyUSB1"))
    second.unplug()
    sockets = {first: "1-1.2", second: "1-1.3"}

    def plugged() -> list[Plugged]:
        return [
            Plugged(str(port.path), USB, "invented", socket)
            for port, socket in sockets.items()
            if port.path.is_symlink()
        ]

    adapters = Adapters(plugged)
    gauge = Gauge(
        GaugeSpec("dial", USB, load_profile("plain-line")), time.monotonic, adapters.resolve
    )
    got = listen(gauge.batches())
    await gauge.link.opened()
    second.plug()
    await until(lambda: adapters._most[USB] == 2)
    first.unplug()
    await until(lambda: "moving a spindle" in gauge.trouble)
    assert gauge.state is GaugeState.GONE
    second.write(b"+9.9\r\n")
    assert got == []
    assert second.unheard_bytes == 6
    second.unplug()

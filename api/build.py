"""From a config to a bench that can run: gauges, bench, journal, run. No logic of its own."""

import time
from collections.abc import Callable
from datetime import UTC, datetime
from uuid import uuid4

from api.bring.calibrations import calibrated
from api.config import Config, ConfigError, GaugeTable, Loaded, ToolTable
from api.service import Service
from daq.bench import Bench
from daq.bench.bench import Fixture
from daq.head.errors import RefusedError
from daq.head.instrument import Instrument, Ring
from daq.head.tools import kinds
from daq.records.journal import Journal
from daq.run import Run
from drivers.find import Adapters
from drivers.gauge import GaugeSpec, Speaks, gauges_of
from drivers.profile import Profile, SourceUnit


def new_id() -> str:
    """A new id."""
    return str(uuid4())


def wall_time() -> datetime:
    """What time it is, for the record."""
    return datetime.now(UTC)


def build(loaded: Loaded, journal: Journal, now_s: Callable[[], float] = time.monotonic) -> Service:
    """The bench of that config over that journal. now_s: the clock readings are stamped with.

    Raises ConfigError for an accepted calibration that cannot be read.
    """
    config = loaded.config
    try:
        instruments = [calibrated(loaded.data, _instrument(each)) for each in config.gauge]
    except RefusedError as error:
        raise ConfigError(str(error)) from None
    specs = map(_spec, config.gauge, loaded.profiles)
    gauges = gauges_of(list(specs), now_s, Adapters().resolve)
    fixture = _fixture(config)
    run = Run(Bench(instruments, fixture, new_id), gauges, journal, now_s)
    named = {each.name: each for each in instruments}
    tools = {each.name: _tool(each) for each in config.tool}
    return Service(config.bench.name, loaded.data, run, named, fixture.rings, tools=tools)


def _fixture(config: Config) -> Fixture:
    return Fixture(
        one_way=config.bench.turning == "one-way",
        v_angle_deg=None if config.vblock is None else config.vblock.angle_deg,
        rings=tuple(Ring(each.name, each.size_mm, each.certificate) for each in config.ring),
    )


def _instrument(table: GaugeTable) -> Instrument:
    return Instrument(
        name=table.name,
        serial=table.serial,
        resolution_mm=table.resolution_mm,
        error_limit_mm=table.error_limit_mm,
        measures=frozenset(table.measures),
        stylus_angle_deg=table.stylus_angle_deg,
        certificate=table.certificate,
        calibration_due=table.calibration_due,
    )


def _tool(table: ToolTable) -> Instrument:
    """A tool without a wire; what the config leaves out is that of its kind."""
    return Instrument(
        name=table.name,
        serial=table.serial,
        resolution_mm=table.resolution or float(kinds()[table.kind].step),
        error_limit_mm=table.error_limit,
        certificate=table.certificate,
        calibration_due=table.calibration_due,
        kind=table.kind,
    )


def _spec(table: GaugeTable, profile: Profile) -> GaugeSpec:
    return GaugeSpec(
        name=table.name,
        port=table.port,
        profile=profile,
        channel=table.channel,
        reverse=table.reverse,
        unit=SourceUnit(table.unit) if table.unit else None,
        speaks=Speaks(table.speaks),
        resolution=table.resolution_mm,
    )

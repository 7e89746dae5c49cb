"""`bench.toml`: one bench and its gauges, read into pydantic, each fault a sentence.

A path in the file counts from the folder the file lies in.
"""

import tomllib
from datetime import date
from ipaddress import ip_address
from pathlib import Path
from typing import Annotated, Literal, NamedTuple

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from api.config_faults import sentences_of
from api.files import FileError, read_within
from api.handing.tables import ExportTable
from api.push.tables import MqttTable, WebhookTable
from daq.head.characteristic import CATALOGUE
from daq.head.toml_lines import line_of
from daq.head.tools import kinds
from drivers.profile import Profile, ProfileError, load_profile

KEYS = "keys:"  # the port of a gauge that types; nothing is opened
CONFIG_BYTES_MAX = 256 * 1024
DEFAULT_LISTEN = "127.0.0.1:8620"

Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f\x7f]+$")]
Word = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$")]


class ConfigError(Exception):
    """For whoever wrote the file: one sentence a fault, each naming file, line and key."""

    def __init__(self, *sentences: str) -> None:
        super().__init__("\n".join(sentences))
        self.sentences = sentences


class Address(NamedTuple):
    """Where the service listens. local: only this machine itself can come there."""

    host: str
    port: int
    local: bool = True


def parse_address(text: str) -> Address:
    """`host:port`, the host as an address or localhost. Raises ValueError with what is allowed."""
    host, _, port = text.rpartition(":")
    host = host.removeprefix("[").removesuffix("]")
    if not (port.isascii() and port.isdigit() and int(port[:6]) <= 65535):
        raise ValueError(f"has to be host:port with a port from 0 to 65535, like {DEFAULT_LISTEN}")
    try:
        local = host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        raise ValueError(
            "has to begin with an address: 127.0.0.1, [::1] or localhost for this machine alone, "
            "0.0.0.0 for all"
        ) from None
    return Address(host, int(port), local)


def _listens(text: str) -> str:
    parse_address(text)
    return text


def _is_database(url: str) -> str:
    if not url.startswith("postgresql://"):
        raise ValueError(
            "has to be postgresql://USER@HOST:PORT/DATABASE; without it the records are in a file "
            "in the data folder"
        )
    return url


def _is_characteristic(name: str) -> str:
    if name not in CATALOGUE:
        raise ValueError(f"has to hold characteristics; there are {', '.join(CATALOGUE)}")
    return name


class _Table(BaseModel):
    # Strict: "0.001" in quotes is a slip that is better said than guessed at.
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class BenchTable(_Table):
    """The bench itself. data: folder of records, keys and exports; database: where the records
    are on a server instead of a file there. turning: the standing word."""

    name: Name
    data: Annotated[str, Field(min_length=1)]
    database: Annotated[str, AfterValidator(_is_database)] | None = None
    listen: Annotated[str, AfterValidator(_listens)] = DEFAULT_LISTEN
    turning: Literal["one-way", "free"] = "one-way"


class GaugeTable(_Table):
    """One gauge. measures: without it, anything that is up. error_limit_mm: half-width."""

    name: Name
    serial: Word
    port: Annotated[str, Field(min_length=1, max_length=500)]
    profile: Annotated[str, Field(min_length=1, max_length=500)]
    resolution_mm: Annotated[float, Field(gt=0, le=10)]
    channel: Annotated[str, Field(max_length=16)] = ""
    measures: list[Annotated[str, AfterValidator(_is_characteristic)]] = []
    unit: Literal["", "mm", "um", "in", "deg", "mbar", "kPa", "N", "Cel"] = ""
    error_limit_mm: Annotated[float, Field(ge=0, le=10)] | None = None
    certificate: Word = ""
    calibration_due: Annotated[date, Field(strict=False)] | None = None
    reverse: bool = False
    stylus_angle_deg: Annotated[float, Field(ge=0, le=75)] = 0.0
    speaks: Literal["stream", "button"] = "stream"


class VBlockTable(_Table):
    """The V-blocks; angle_deg is the included angle."""

    angle_deg: Annotated[float, Field(ge=30, le=150)]


class RingTable(_Table):
    """A setting ring or gauge block that a zero is taken on."""

    name: Name
    size_mm: Annotated[float, Field(gt=0, le=1000)]
    certificate: Word = ""


def _is_kind(name: str) -> str:
    if name not in kinds():
        raise ValueError(f"has to be a kind of tool; there are {', '.join(kinds())}")
    return name


class ToolTable(_Table):
    """A tool without a wire, read by eye. kind: what it is; resolution and error_limit, in the
    unit of the kind, where they are not those of its kind."""

    name: Name
    kind: Annotated[str, AfterValidator(_is_kind)]
    serial: Word = ""
    resolution: Annotated[float, Field(gt=0, le=100)] | None = None
    error_limit: Annotated[float, Field(ge=0, le=100)] | None = None
    certificate: Word = ""
    calibration_due: Annotated[date, Field(strict=False)] | None = None


class AccessTable(_Table):
    """Who may come from elsewhere: those with a token, to one of these hosts, over TLS; either we
    have certificate and key, or a proxy before us has."""

    hosts: Annotated[list[Annotated[str, Field(min_length=1, max_length=255)]], Field(min_length=1)]
    certificate: str | None = None
    key: str | None = None
    behind_proxy: bool = False


class Config(_Table):
    """The whole file."""

    bench: BenchTable
    gauge: list[GaugeTable] = []
    tool: list[ToolTable] = []
    vblock: VBlockTable | None = None
    ring: list[RingTable] = []
    access: AccessTable | None = None
    mqtt: MqttTable | None = None
    webhook: list[WebhookTable] = []
    export: ExportTable | None = None

    @model_validator(mode="after")
    def _is_guarded(self) -> "Config":
        """Raises with the place of what leaves the bench open to a network."""
        access = self.access
        if access is None and not parse_address(self.bench.listen).local:
            raise Clash(
                ("bench", "listen"),
                "is open to the network, which needs [access] with hosts, and certificate and key "
                "or behind_proxy = true; without it listen on 127.0.0.1",
            )
        if access is not None:
            both = access.certificate is not None and access.key is not None
            either = access.certificate is not None or access.key is not None
            if access.behind_proxy == either or either != both:
                raise Clash(
                    ("access", "hosts"),
                    "needs beside it either certificate and key, or behind_proxy = true if a "
                    "proxy before the bench speaks TLS",
                )
        return self

    @model_validator(mode="after")
    def _names_differ(self) -> "Config":
        """Raises with the place of the second of two that may not be alike."""
        for table, names in (
            ("gauge", [each.name for each in self.gauge]),
            ("ring", [each.name for each in self.ring]),
            ("webhook", [each.name for each in self.webhook]),
            ("tool", [each.name for each in self.tool]),
        ):
            for number, name in enumerate(names):
                if name in names[:number]:
                    raise Clash((table, number, "name"), f"is {name!r}, a name taken already")
        seen: set[tuple[str, str]] = set()
        for number, gauge in enumerate(self.gauge):
            whole = (gauge.port, "")
            mine = (gauge.port, gauge.channel)
            shared = any(port == gauge.port for port, _ in seen)
            if mine in seen or (shared and (whole in seen or mine == whole)):
                raise Clash(
                    ("gauge", number, "port"),
                    f"is {gauge.port!r}, which another gauge uses; several gauges on one port "
                    "need a channel each",
                )
            seen.add(mine)
        self._ports_speak_one_way()
        return self

    def _ports_speak_one_way(self) -> None:
        """Raises when two gauges on one port (a channel box) have different profiles."""
        profiles: dict[str, str] = {}
        for number, gauge in enumerate(self.gauge):
            other = profiles.setdefault(gauge.port, gauge.profile)
            if other != gauge.profile:
                raise Clash(
                    ("gauge", number, "profile"),
                    f"is {gauge.profile!r}, but another gauge on {gauge.port} has {other!r}; one "
                    "port speaks one way, so give all its gauges the same profile",
                )


class Clash(ValueError):  # noqa: N818 - it never leaves this module as an error
    """Two entries that cannot both be; loc says where the second one stands."""

    def __init__(self, loc: tuple[str | int, ...], text: str) -> None:
        super().__init__(text)
        self.loc = loc


class Loaded(NamedTuple):
    """A config that holds. profiles: one for each gauge, in its order. data: the folder.
    folder: that of the file itself."""

    config: Config
    profiles: tuple[Profile, ...]
    data: Path
    address: Address
    folder: Path

    @property
    def database(self) -> str | None:
        """The URL of its database, None for the file in `data`."""
        return self.config.bench.database

    @property
    def qif_schema(self) -> Path | None:
        """The folder of the user's QIF schema, None without one."""
        export = self.config.export
        named = None if export is None else export.qif_schema
        return None if named is None else self.folder / named


def load_config(file: Path) -> Loaded:
    """Read and check `file`. Raises ConfigError with every fault that was found."""
    text = _text_of(file)
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConfigError(f"{file} is not TOML: {error}.") from None
    try:
        config = Config.model_validate(tables)
    except ValidationError as error:
        raise ConfigError(*sentences_of(error, text, file, Config)) from None
    profiles, faults = [], []
    for number, gauge in enumerate(config.gauge):
        try:
            profiles.append(load_profile(_profile_path(gauge.profile, file)))
        except ProfileError as error:
            line = line_of(text, ("gauge", number, "profile"))
            faults.append(f"{file}, line {line}: profile of gauge {gauge.name!r}: {error}")
        else:
            for key, fault_of in (("channel", _channel_fault), ("port", _keys_fault)):
                if fault := fault_of(gauge, profiles[-1]):
                    line = line_of(text, ("gauge", number, key))
                    faults.append(f"{file}, line {line}: gauge {gauge.name!r} {fault}")
    if faults:
        raise ConfigError(*faults)
    data = file.parent / config.bench.data
    address = parse_address(config.bench.listen)
    return Loaded(config, tuple(profiles), data, address, file.parent)


def _channel_fault(gauge: GaugeTable, profile: Profile) -> str:
    """Why this gauge would hear another one's numbers or none, "" when it would not."""
    channels = ", ".join(profile.channels)
    if gauge.channel and not channels:
        return f"has a channel, and profile {profile.name!r} tells none apart; leave channel out."
    if gauge.channel and gauge.channel not in profile.channels:
        return f"has channel {gauge.channel!r}; profile {profile.name!r} has {channels}."
    if not gauge.channel and len(profile.channels) > 1:
        return f"has no channel; profile {profile.name!r} has {channels}: say which is this gauge."
    return ""


def _keys_fault(gauge: GaugeTable, profile: Profile) -> str:
    """Why a gauge that types cannot be heard on this port, or another one on the keys."""
    typed = profile.wire == "typed"
    if typed and not gauge.port.startswith(KEYS):
        return (
            f"types like a keyboard, so its port is {KEYS!r}, or {KEYS + '2'!r} for a second one."
        )
    if not typed and gauge.port.startswith(KEYS):
        return (
            f"has port {gauge.port!r}, and profile {profile.name!r} does not type; name its port."
        )
    return ""


def _text_of(file: Path) -> str:
    try:
        data = read_within(file, CONFIG_BYTES_MAX, "that is no bench.toml")
    except FileError as error:
        raise ConfigError(str(error)) from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ConfigError(f"{file}, line {line}: not UTF-8 text; save it as UTF-8.") from None


def _profile_path(name: str, file: Path) -> str:
    is_path = "/" in name or "\\" in name or name.endswith(".toml")
    return str(file.parent / name) if is_path else name

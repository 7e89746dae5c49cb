"""Place what answers a Modbus request of a shipped profile.

That it is Modbus is sure, the answer has its checksum or its running number. What its registers
mean it never says: only a float shows by itself how large it is.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from drivers.find.placing.floats import VALUE_MAX
from drivers.find.placing.place import Placed, Proposal
from drivers.find.placing.reads import Said, read_with
from drivers.find.placing.split import Sound
from drivers.find.placing.toml import toml_of
from drivers.find.placing.unit import ASSUMED_MM
from drivers.profile import Profile
from drivers.reading import State
from drivers.wires.registry import WIRES

SCORE = 0.8
MILLIONTHS = 1_000_000
GRID_OF_FLOAT = 100  # millionths: a float of few decimals reads like nothing else
NOT_MODBUS = "nothing that answered was Modbus"
REFUSED = (
    "it answers Modbus, but refuses the registers it was asked for: its manual says which hold the "
    "number"
)
NO_SCALE = (
    "it answers Modbus, but nobody says what its registers mean and what one count is worth: its "
    "manual does"
)


def request_of(profile: Profile) -> bytes:
    """What the profile sends first."""
    return WIRES[profile.wire].described(profile.model_dump()).ask()


def placed_registers(sound: Sound, serial: Mapping[str, Any], profile: Profile) -> Placed:
    """Place the answers to `request_of(profile)`. serial: the line settings."""
    said = read_with(profile, sound).said
    if not said:
        return Placed((), NOT_MODBUS)
    numbers = [s for s in said if s.state is State.OK]
    if not numbers:
        return Placed((), REFUSED, start=_start(serial, profile))
    if profile.modbus is None or profile.modbus.type != "float32" or not _are_lengths(numbers):
        return Placed((), NO_SCALE, start=_start(serial, profile))
    return Placed((Proposal(profile, SCORE, tuple(said), (ASSUMED_MM,)),))


def _are_lengths(numbers: Sequence[Said]) -> bool:
    """Whether they read as floats that somebody meant, and not only as whole numbers."""
    meant = all(
        abs(s.value) < VALUE_MAX and round(s.value * MILLIONTHS) % GRID_OF_FLOAT == 0
        for s in numbers
    )
    return meant and any(s.value % 1 for s in numbers)


def _start(serial: Mapping[str, Any], profile: Profile) -> str:
    """The profile that was answered, to be put right by somebody who has the manual."""
    modbus = profile.modbus
    told = modbus.model_dump(mode="json") if modbus is not None else {}
    kept = ("framing", "device", "table", "channels", "type", "order", "scale")
    table = {key: told[key] for key in kept}
    if list(table["channels"]) == [""]:
        table["address"] = table.pop("channels")[""]
    tables = {
        "about": "What it is, in a sentence.",
        "wire": "modbus",
        "unit": "mm",
        "serial": dict(serial),
        "modbus": table,
    }
    return toml_of(tables, "It answers this. Say which registers hold the number, and their scale.")

"""Leaks: pressure times volume over time, amount of gas over time, and what a leak does later.

Ideal gas at one temperature. Sources: SI (R = 8.314462618 J/(mol K), CODATA 2018);
40 CFR 1065.644 (vacuum-decay leak rate). 1 sccm is 1 cm3/min at 101325 Pa and 0 degC.
"""

import math
from typing import NamedTuple

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
ZERO_CEL_K = 273.15
STANDARD_PA = 101_325.0
MBAR_PER_INHG = 33.86389  # conventional inch of mercury, NIST SP 811, from memory
_PA_M3_PER_MBAR_L = 0.1
_CM3_PER_M3 = 1e6
_S_PER_MIN = 60.0


class GasState(NamedTuple):
    """Absolute pressure and temperature of the gas in a volume."""

    pressure_pa: float
    temperature_k: float


def leak_mbar_l_s(volume_l: float, change_mbar: float, time_s: float) -> float:
    """Q = V dp/dt."""
    return volume_l * change_mbar / time_s


def molar_leak_mol_s(
    volume_m3: float,
    before: GasState,
    after: GasState,
    time_s: float,
    gas_constant: float = GAS_CONSTANT_J_PER_MOL_K,
) -> float:
    """n = V/R (p2/T2 - p1/T1)/t, positive when gas came in (40 CFR 1065.644).

    gas_constant: in J/(mol K); older sources used a slightly different one.
    """
    gained = after.pressure_pa / after.temperature_k - before.pressure_pa / before.temperature_k
    return volume_m3 / gas_constant * gained / time_s


def mol_s_of(leak: float, gas_cel: float) -> float:
    """The amount of gas in a leak given in mbar l/s of gas at `gas_cel`."""
    return leak * _PA_M3_PER_MBAR_L / (GAS_CONSTANT_J_PER_MOL_K * (gas_cel + ZERO_CEL_K))


def sccm_of(leak_mol_s: float) -> float:
    """Standard cubic centimetres (0 degC, 101325 Pa) a minute."""
    volume_m3_s = leak_mol_s * GAS_CONSTANT_J_PER_MOL_K * ZERO_CEL_K / STANDARD_PA
    return volume_m3_s * _CM3_PER_M3 * _S_PER_MIN


def mol_s_of_sccm(leak_sccm: float) -> float:
    """The amount of gas in a leak given in standard cubic centimetres a minute."""
    volume_m3_s = leak_sccm / (_CM3_PER_M3 * _S_PER_MIN)
    return volume_m3_s * STANDARD_PA / (GAS_CONSTANT_J_PER_MOL_K * ZERO_CEL_K)


def decay_time_s(start_mbar: float, volume_l: float, leak: float) -> float:
    """Time constant of a vacuum of `start_mbar` that loses `leak` mbar l/s at its start."""
    return start_mbar * volume_l / leak


def below_ambient_mbar(start_mbar: float, time_s: float, decay_s: float) -> float:
    """What is left of the vacuum where the leak is in proportion to it."""
    return start_mbar * math.exp(-time_s / decay_s)


def settling_change_mbar(absolute_mbar: float, change_k: float, temperature_k: float) -> float:
    """What a tight volume's pressure changes by when its gas changes by `change_k`."""
    return absolute_mbar * change_k / temperature_k

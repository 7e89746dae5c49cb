"""A gauge described: what it speaks, over which line settings, in which unit."""

from drivers.profile.faults import ProfileError, line_of_key
from drivers.profile.profile import Profile, load_profile, parse_profile, shipped_profiles
from drivers.profile.units import CANONICAL, SourceUnit

__all__ = [
    "CANONICAL",
    "Profile",
    "ProfileError",
    "SourceUnit",
    "line_of_key",
    "load_profile",
    "parse_profile",
    "shipped_profiles",
]

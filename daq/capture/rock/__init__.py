"""`Rock`: the bore at its true diameter, from a two-point gauge rocked through it."""

from daq.capture.rock.capture import Rock

__all__ = ["Rock"]

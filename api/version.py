"""Which version of the program this is."""

from importlib.metadata import PackageNotFoundError, version

try:
    VERSION = version("benchtally")
except PackageNotFoundError:  # run from a checkout that was not installed
    VERSION = "0+unknown"

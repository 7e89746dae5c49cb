"""What the service has in its record, asked from outside."""

import json
import urllib.request


def record(address, job):
    """The whole record."""
    with urllib.request.urlopen(f"{address}api/v1/jobs/{job}/record", timeout=20) as answer:
        return json.load(answer)


def measurements(address, job):
    """All that were kept, in the order they were measured, with those that are void."""
    return record(address, job)["measurements"]


def kept(address, job):
    """The values that stand."""
    return [float(each["value"]) for each in measurements(address, job) if each["status"] != "VOID"]

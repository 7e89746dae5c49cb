"""What the service has in its record, asked from outside."""

import json
import urllib.request


def record(address, job):
    with urllib.request.urlopen(f"{address}api/v1/jobs/{job}/record", timeout=20) as answer:
        return json.load(answer)


def kept(address, job):
    """The values that stand, in the order they were measured."""
    found = record(address, job)["measurements"]
    return [float(each["value"]) for each in found if each["status"] != "VOID"]

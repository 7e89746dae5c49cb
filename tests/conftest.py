"""What every test shares: in CI nothing may skip."""

import os

import pytest


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """On a person's machine a missing part is a skip that says so; in CI it is a failure."""
    report = yield
    if report.skipped and os.environ.get("CI"):
        report.outcome = "failed"
        report.longrepr = f"skipped in CI, where nothing may be missing: {report.longrepr}"
    return report

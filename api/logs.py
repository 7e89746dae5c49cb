"""Where the log goes: stderr, one line an event, tracebacks without the values in them."""

import sys

import structlog


def log_to_stderr() -> None:
    """Set the log up, once, at the start of a service."""
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.KeyValueRenderer(key_order=["timestamp", "level", "event"]),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(20),
        logger_factory=lambda *_: structlog.PrintLogger(sys.stderr),  # as it is when it logs
    )

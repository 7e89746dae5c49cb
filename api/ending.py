"""When a task that tells or collects for ever has to end."""

import asyncio


def is_to_end() -> bool:
    """Whether this task was cancelled, even if it did not come to hear of it.

    A cancellation can be lost on its way: `asyncio.wait_for` of Python 3.11 gives its result
    instead when both come in one moment, and a client that leaves a broker which is gone raises
    its own error in place of it. Who loops until cancelled asks here at each turn.
    """
    task = asyncio.current_task()
    return task is not None and task.cancelling() > 0

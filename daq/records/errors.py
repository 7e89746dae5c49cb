"""What can go wrong with the records on disk; each error is one sentence for the operator."""

from daq.head.errors import ConflictError


class RecordError(Exception):
    """The records could not be read or written; the sentence says what, where and what to do."""


class DiskFullError(RecordError):
    """There is no room on the disk; nothing of what was to be kept was kept."""


class LockedError(RecordError):
    """Another bench, or another program, is writing into this data folder."""


class SchemaError(RecordError):
    """Not a database of this program, or one that this version of it does not know."""


class AlteredError(RecordError):
    """What was read back is not what was written."""


class KeyUsedError(ConflictError):
    """This idempotency key already stands under something written; read its receipt instead."""

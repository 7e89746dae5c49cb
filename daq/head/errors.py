"""What can be wrong with a request about a head; each error is one sentence for a person."""


class RefusedError(ValueError):
    """What was asked cannot be done; the sentence says what, where, and what to do instead."""


class UnknownError(RefusedError):
    """A name that is not there: a job, plan, characteristic, position, measurement or gauge."""


class ConflictError(RefusedError):
    """Possible in general, but not in the state this job or bench is in."""


class QuestionError(ConflictError):
    """It can be done once somebody has said that it is right; the sentence is the question."""

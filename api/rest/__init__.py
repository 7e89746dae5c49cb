"""The HTTP contract under /api/v1, one small module a subject."""

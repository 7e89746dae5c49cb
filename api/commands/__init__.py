"""Commands on records and access, one module a group; `api.cli` puts them together."""

"""One writer for each format: a record goes in, chunks of bytes come out, nothing is computed."""

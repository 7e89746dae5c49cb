"""TELL: the command, the HTTP service, the page at the bench, and the exports."""

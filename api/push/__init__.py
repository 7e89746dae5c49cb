"""What was written, pushed to other software: one sender a receiver, beside the bench."""

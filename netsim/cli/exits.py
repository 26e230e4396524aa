"""Exit statuses of the command line. Errors carry theirs: see `netsim.errors`."""

NOTHING_OVER = 0
SOMETHING_OVER = 1
OWN_FAULT = 70
INTERRUPTED = 130
CLOSED_PIPE = 141

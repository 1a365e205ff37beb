"""What the program's exit code means; shown by `comeback help exit-codes`."""

DONE = 0
UNEXPECTED = 1
USAGE = 2
PAUSED = 3
KNOWLEDGE = 4
FILES = 5
NOT_UNDERSTOOD = 6
HUNG_UP = 129
INTERRUPTED = 130
TERMINATED = 143

MEANINGS = {
    DONE: "done; a walk came to its end, or the command did what it was asked",
    UNEXPECTED: "an error that should not happen; every answer so far is saved",
    USAGE: "the command line or a file asks for something that is not there",
    PAUSED: "paused and saved; continue with the case id (a drill: --resume)",
    KNOWLEDGE: "the knowledge files have problems; each was printed with its place",
    FILES: "a file, folder or case log cannot be read or written",
    NOT_UNDERSTOOD: "a readout in which nothing could be used; nothing was recorded",
    HUNG_UP: "the terminal was closed (SIGHUP); every answer so far is saved",
    INTERRUPTED: "interrupted by Ctrl-C; every answer so far is saved",
    TERMINATED: "stopped (SIGTERM); every answer so far is saved",
}

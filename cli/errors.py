"""What a user can get wrong on the command line or in a file they named."""


class UsageError(Exception):
    """The user asked for something that is not there; the message says what to do."""

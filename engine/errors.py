"""What can go wrong while reasoning, as a small tree; each error carries its data."""


class EngineError(Exception):
    """Base of everything that the user's input or the knowledge can cause here."""


class ImpossibleFindings(EngineError):
    """The findings cannot all be true under the knowledge. `findings` are the ones taken together."""

    def __init__(self, findings: tuple[str, ...]) -> None:
        self.findings = findings
        super().__init__(f"These findings cannot all be true together: {', '.join(findings)}. Take one of them back.")


class TooManyFindings(EngineError):
    """More abnormal findings hang together than an exact answer fits in memory for."""

    def __init__(self, width: int, limit: int) -> None:
        self.width, self.limit = width, limit
        super().__init__(
            f"{width} abnormal findings hang together; an exact answer is possible up to {limit}. "
            "Take back the least certain finding."
        )


class UnknownEntry(EngineError):
    """An id that the knowledge does not have. `kind` says of what."""

    def __init__(self, kind: str, word: str, hint: str = "") -> None:
        self.kind, self.word = kind, word
        super().__init__(f"There is no {kind} '{word}'.{hint}")


class BadReading(EngineError):
    """Text that is no usable reading; the message says what to type."""


class CaseClosed(EngineError):
    """The case is closed; nothing more can be recorded except notes."""

"""Where the knowledge that tests share is kept."""

from pathlib import Path

SMALL = Path(__file__).parent.parent / "kb" / "small"
"""The smallest knowledge: one service, one complaint, two causes, four checks."""
SMALL_FOLDER = str(SMALL)
"""The same as a command takes it."""

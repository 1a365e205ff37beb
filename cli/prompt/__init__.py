"""The conversation at the keyboard: its loop, the replies, and what may be typed at any time."""

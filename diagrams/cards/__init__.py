"""Repair cards: what to look for, the repair, its cautions and its proof."""

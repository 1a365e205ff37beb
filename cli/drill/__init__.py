"""Drills at the keyboard: watch, guided, phone, exam, with debrief and results."""

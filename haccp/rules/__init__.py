"""Verdicts: pure functions over readings. Nothing here knows a file, database, clock or terminal."""

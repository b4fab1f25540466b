"""Verdicts: pure functions over readings, knowing no file, database, clock or terminal."""

"""The one family of errors that a person can cause and mend."""


class Refused(Exception):  # noqa: N818 - named for what the person is told
    """One sentence: what was wrong, and what to type instead."""

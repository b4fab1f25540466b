"""A package, so that one of the same name among the installed ones does not stand in its place."""

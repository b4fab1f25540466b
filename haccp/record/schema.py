"""Which schema this version of haccp reads and writes, on every store."""

SCHEMA = "0007"

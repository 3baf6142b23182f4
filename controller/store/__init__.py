"""The record: one SQLite file, one writer, read by anybody."""

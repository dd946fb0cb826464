"""Logs and circuits read; the lap estimated; an estimate held against a log."""

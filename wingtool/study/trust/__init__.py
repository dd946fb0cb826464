"""This build against published values."""

"""Lesson pages and their pictures."""

"""A study file from questions and answers."""

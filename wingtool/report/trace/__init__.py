"""A traced wing: text, pictures, measuring sheets."""

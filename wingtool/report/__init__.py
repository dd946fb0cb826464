"""Results as tables, pictures, pages and lessons."""

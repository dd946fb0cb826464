"""Results as tables, and tables as files."""

"""Tables as files, one format a file."""

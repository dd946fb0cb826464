"""Pictures of a study as files."""

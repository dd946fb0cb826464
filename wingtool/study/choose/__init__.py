"""Which section to build for a study's wing, and how true it must be built."""

"""The version, for headers of files and keys of caches."""

__version__ = "0.1.0"

"""What a home-built racing wing will do: section, finite wing, car, lap, before anything is cut."""

__version__ = "0.1.0"

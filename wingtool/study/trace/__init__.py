"""A wing of unknown section: readings to section, band and measuring advice."""

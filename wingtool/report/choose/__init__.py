"""Which section to build: on the screen, as a table, a picture and a page."""

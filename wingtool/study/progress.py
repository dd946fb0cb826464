"""Progress messages: what a caller passes who wants none."""


def no_progress(text: str) -> None:
    """Progress that nobody reads."""

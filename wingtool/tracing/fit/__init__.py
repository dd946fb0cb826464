"""The smooth section through measured points: its shape functions, the fit, and what is doubted about it."""

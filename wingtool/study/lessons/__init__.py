"""What the lessons teach, computed."""

"""A real wing's outline from a photo, a pen trace or calipers, with its band."""

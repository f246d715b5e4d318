"""Climate and operating calendar of the plant."""

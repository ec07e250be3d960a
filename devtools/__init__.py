"""What the doors of the project need beyond the standard library's own: servers for its tests."""

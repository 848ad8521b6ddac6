"""Examples: shipped build files, invented and generic."""

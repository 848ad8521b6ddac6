"""The control law and what surrounds it on the board: exactly what is copied there."""

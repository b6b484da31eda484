"""What must hold between the pieces: rules and figures as data, in a small checked language."""

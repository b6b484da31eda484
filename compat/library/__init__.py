"""A shop and its rulebook, read together."""

"""A shop and its rulebook, read together, and kept between commands in a file of the cache folder."""

"""A document in each format, one module for each: bytes or text out of blocks, and no file is touched."""

"""Suppliers' lists: read as they come, held against the shop, and brought into its files."""

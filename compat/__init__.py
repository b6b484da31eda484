"""Compatibility checker for performance engine builds, on a shop's own parts and rules."""

__version__ = "0.1.0"

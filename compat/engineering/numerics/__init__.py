"""Means of reckoning that no subject owns: ranges of arguments, roots, curves through points.

Gives no formula of its own.
"""

"""What a build costs and where it comes from: what is bought, from whom, and what is asked for it.

It reads what a check found and the shop's own terms, and gives quotes and orders as data. Money is Decimal.
"""

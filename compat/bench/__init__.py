"""What goes to the bench: the order of assembly, what is tightened and measured, and what came out of it.

It reads what a check found and gives the sheet as data; of measured pieces it says which goes where.
"""

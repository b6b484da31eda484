"""What to change: the best build that meets a goal, why none does, what fits where, builds side by side.

The checker stays the one definition of what goes together; planning asks it and decides nothing by itself.
"""

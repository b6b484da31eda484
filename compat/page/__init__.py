"""The shop in a browser: counter and bench, on the same checks, documents and plans as the command line.

Nothing is defined here a second time: views ask the floors below and show what they say. Needs the extra
`shop-compat[page]`.
"""

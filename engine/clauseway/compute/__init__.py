"""Does the opening, the lock and the supply really work? Computations on `math` alone, in SI units.

One module per subject; `registry` has them all by name, for numbers and for ranges; `sheet` lays one out.
Engineering practice is no code: each computation says what it rests on.
"""

"""Small vectors, rotations, linkages and roots on arrays. No word of the domain in here.

Lengths come in any one unit, angles are radians, and ``nan`` means that no solution exists.
"""

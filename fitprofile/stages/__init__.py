"""The numbered pipeline: each stage takes frozen values and returns a new one and problems.

network, readings, placing, doubts, groundwork, stand, survey -> complete -> linkage -> siton,
calibrate -> posture -> targets -> moves, adjust -> job, limits, practical -> spread -> outcome,
findings -> chain. A module imports only from modules before it in this list; `chain` alone knows
the order.
"""

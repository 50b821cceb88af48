"""The numbered pipeline: each stage takes frozen values and returns a new one and problems.

survey -> complete -> linkage -> calibrate -> posture -> targets -> adjust -> practical ->
spread -> chain. A stage imports only from stages before it; `chain` alone knows the order.
"""

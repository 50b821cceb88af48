"""Carry one rider's fit from bike to bike: from a tape measure to a sheet that says what to change."""

__version__ = "0.1.0"

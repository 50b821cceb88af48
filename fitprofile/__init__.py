"""Carry a rider's fit from bike to bike: from a tape measure to a sheet of what to change."""

__version__ = "0.1.0"

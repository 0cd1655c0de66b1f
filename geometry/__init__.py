"""Band geometry, coverage, placement and clearances: plain functions on numpy arrays.

Metres and degrees; x right and y up on the plan, z up from the finished floor. This package
imports neither `scenes` nor `viz`, opens no file and prints nothing.
"""

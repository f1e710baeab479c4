"""Air: flow resistance, a 2-D flow solver to calibrate it, fans, and cabinet temperature.

``losses`` gives the quick answer for one stack or thousands; ``flow2d`` solves
the flow in the same section and, through ``calibration``, corrects the quick answer from a
committed table; ``resistance`` joins the stack with window, sill and neck to one vent; ``fans``,
``operating`` and ``cabinet`` find flow and temperature; ``summary`` makes plain data and
``pictures`` curves. Nothing here prints or reads the catalogue.
"""

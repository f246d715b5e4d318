"""Moist air: saturation, humidity, heat, transport properties; its compression and expansion.

Every function takes arrays that broadcast, and plain floats, and never changes its inputs. Values out of
range and NaN are refused with ``on_range="raise"`` and answered with NaN with ``on_range="nan"``.
"""

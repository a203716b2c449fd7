"""Choosing under limits and under doubt, without trade words.

Items, places, options, groups, hypotheses, checks: fewest stops on a circle, exact assignment,
whether a reading decides, what a further check would tell, what to do next to find a fault, and
weighted draws from a distribution. Knows plain numbers and `tickover.errors`; no files, no clock,
no randomness that was not given.
"""

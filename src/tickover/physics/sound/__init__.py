"""Listening: engine speed, steadiness and slot strengths from sound alone.

Pure numerics on arrays of samples and lists of firing angles. Knows no files, no engine file,
no clock; chance comes in as a seed. Everything was tried on synthetic sound only.
"""

"""Phones in the workshop: the one-time code, the list of paired phones, the gate before the pages.

Nothing of the book is served to a device that is neither this machine nor paired.
"""

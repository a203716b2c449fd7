"""The paper face: the same page objects as everywhere, set by Typst on A4 or Letter.

Templates hold layout only; every word and number arrives with the page object.
"""

"""Pure numbers about machines: what the textbooks and standards say, and nothing else.

A module here takes plain SI floats and arrays and gives them back, or raises `InputError` when
no real part could have the numbers it was given. It knows no engine file, no book, no clock, no
files and no randomness that was not handed to it; dates, seeds and limits arrive as arguments.
What is known only between two values is a `bands.Band`; what was measured is a
`metrology.Estimate`. Where a number comes from memory or from practice the docstring says so, and
nothing that decides a verdict uses it silently.
"""

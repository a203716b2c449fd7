"""What was worked out before, kept in the user's cache folder: compiled loops and answers.

Knows no trade. Whoever asks gets the same with it or without; a folder that cannot be written
costs time and nothing else. With the book and the faces, the only place that writes files.
"""

"""From findings to answers: what is stale, what stops the start, what to do next.

The plan knows every task and the book; it knows no page.
"""

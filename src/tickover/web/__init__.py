"""The web face: server-rendered pages, complete without script, phone first.

Knows page objects (`tickover.pages`), the book to read and append to, and nothing of formulas.
`create_app` makes the application, `serve` runs it; every route stands in `routes.py`.
"""

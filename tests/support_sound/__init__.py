"""Sounds for tests: a second engine generator and things to refuse.

Nothing here had a part in choosing the estimator's limits. Every sound is synthetic.
"""

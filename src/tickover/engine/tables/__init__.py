"""The tables of the engine file, one module each: what may stand in them and what it must obey.

A table knows its own keys; what it has to say about other tables it says in `clashes`.
"""

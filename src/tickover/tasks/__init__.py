"""One module or package per trade task: read what is known, compute, conclude.

A task takes plain inputs (an engine file, readings, a drawer) and returns frozen findings; a small
part of it translates the book into those inputs. Tasks know the engine file, physics, decide and
the book; they know no checks, pages or faces.
"""

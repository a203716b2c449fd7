"""One frozen object for each page or printed sheet, with its pictures.

Web, terminal and paper draw the same object, so none can disagree. Numbers arrive here in SI and
leave as words in the build's own units; the plain figures travel along for `--json`.
"""

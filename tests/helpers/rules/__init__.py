"""The rules of the house, as pure functions over source text.

The same code judges the tree and the sabotaged snippets. Each rule takes text and
returns findings, one line each: ``place: what is wrong; what is right``.
"""

"""The window: results become text, tables, figures, a page, JSON and a saved folder.

`text` and `jsonout` need nothing heavy; `figures`, `page` and `save` load matplotlib and jinja2.
Nothing here computes physics: what is shown is a field of a result, in units a reader likes.
"""

"""The tolerant reader: a logger's file of any make in, a `Record` or one line of refusal out.

`source` finds the text, `layout` the table in it, `roles` what each column holds, `body` and `fast` read all rows,
`order` puts the times in order, `marks` finds what asks for a look, `reader` joins them. Nothing is dropped without
being counted, and what was not said stands in `assumed` under the key of the about-file that would say it.
"""

"""Statistics: random streams, bands of trials, and what moves an answer."""

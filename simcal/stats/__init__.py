"""Statistics: random streams, bands of trials, what moves an answer, and exact tests of promises."""

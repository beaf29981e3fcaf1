"""Pure functions of floats, one law each; no room above is known here."""

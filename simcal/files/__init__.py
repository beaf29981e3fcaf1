"""The door: the user's files in, checked objects in SI out. Units end here; one fault hides no other."""

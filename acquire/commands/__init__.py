"""One file a command; heavy imports stay inside the functions so that start-up is quick."""

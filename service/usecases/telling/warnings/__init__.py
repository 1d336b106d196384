"""What a dispatcher must know of a day beside its routing: by a code, with whom it is about."""

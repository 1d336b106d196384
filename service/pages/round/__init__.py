"""The crew lead's screen on a telephone: may I bag, how much room, where next; works offline."""

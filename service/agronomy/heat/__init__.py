"""How layers and heaps warm up, sour, and what heat kills."""

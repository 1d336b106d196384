"""Layers of clippings: material, air, settling, what a bed has room for."""

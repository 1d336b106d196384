"""How fast clippings dry in given weather."""

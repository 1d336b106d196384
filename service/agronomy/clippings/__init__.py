"""How much is cut: mass, density, growth, nitrogen, and what a vehicle may still take."""

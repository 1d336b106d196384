"""One vehicle's cheapest tip plan at given prices: labels, extension, bounds, elimination."""

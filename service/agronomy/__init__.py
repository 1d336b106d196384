"""What grass does: yield, moisture, density, nitrogen, layers. Pure functions without dates."""

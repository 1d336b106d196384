"""From chosen tip plans to a plan as it is told: stops, costs, figures."""

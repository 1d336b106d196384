"""The day as the planner gets it: jobs, destinations, prices, freedoms and what is locked."""

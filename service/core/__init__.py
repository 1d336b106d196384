"""The words of the trade: jobs, materials, loads, sites, vehicles, plans, quantities, refusals."""

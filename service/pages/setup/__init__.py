"""Setting a firm up: its yard, vehicles, crews, sites, lawns and beds, by form or by sheet."""

"""Why an estimate and a verdict are what they are, with the rules and sources behind them."""

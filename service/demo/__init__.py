"""An invented firm's working day: people, places and loads that nobody ever met."""

"""Why a load goes where it goes, and what would change it."""

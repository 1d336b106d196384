"""What treatments of a lawn ask for before its clippings are used."""

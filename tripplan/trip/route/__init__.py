"""The way on the map: measured, cut into legs, and how far help is from each kilometre."""
